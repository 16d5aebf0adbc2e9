import { readFile } from "node:fs/promises";
import type { z } from "zod";
import { fieldFaults, sayFaults } from "./plain-words.ts";
import { UsageError } from "./usage.ts";

/**
 * Read a JSON file and check it.
 *
 * @param what  How people call the file, such as "deck file".
 * @throws {UsageError} naming the file, the field and what to do.
 */
export async function readJson<Schema extends z.ZodType>(
  path: string,
  schema: Schema,
  what: string,
): Promise<z.output<Schema>> {
  const text = await readText(path, what);
  let value: unknown;
  try {
    value = JSON.parse(text.replace(/^\uFEFF/, ""));
  } catch (error) {
    const told = error instanceof Error ? error.message : "";
    throw new UsageError(`The ${what} ${path} is not valid JSON. Correct it: ${told}`);
  }
  const checked = schema.safeParse(value);
  if (checked.success) return checked.data;
  throw new UsageError(
    `The ${what} ${path} cannot be used. ${sayFaults(fieldFaults(checked.error))} Correct the file.`,
  );
}

/** As `readJson`, or null where there is no such file. */
export async function readJsonIfThere<Schema extends z.ZodType>(path: string, schema: Schema, what: string) {
  try {
    return await readJson(path, schema, what);
  } catch (error) {
    if (error instanceof UsageError && error.cause === "ENOENT") return null;
    throw error;
  }
}

/** A file's text, UTF-8. @throws {UsageError} when it cannot be read. */
export const readText = async (path: string, what: string): Promise<string> =>
  new TextDecoder().decode(await readBytes(path, what));

/** A file's bytes. @throws {UsageError} when it cannot be read. */
export async function readBytes(path: string, what: string): Promise<Uint8Array> {
  try {
    return await readFile(path);
  } catch (error) {
    const code = (error as NodeJS.ErrnoException).code ?? "";
    const why: Record<string, string> = {
      ENOENT: "is not there. Check its name",
      EISDIR: "is a folder. Name the file in it",
      EACCES: "may not be read. Change its permissions",
    };
    throw new UsageError(`The ${what} ${path} ${why[code] ?? `cannot be read (${code})`}.`, { cause: code });
  }
}
