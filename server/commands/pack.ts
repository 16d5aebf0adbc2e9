import { readFile, stat, writeFile } from "node:fs/promises";
import { fileURLToPath } from "node:url";
import { readConfig } from "../config.ts";
import { makePack } from "../packs/make.ts";
import { MOST_PACK_BYTES } from "../packs/pack-zip.ts";
import { lookAtPack, takePack } from "../packs/take.ts";
import type { Caller } from "../storage/caller.ts";
import { callerIn, type Data, openData } from "../storage/data.ts";
import { galleryStock } from "../storage/gallery.ts";
import { UsageError } from "../usage.ts";

const stock = galleryStock(fileURLToPath(new URL("../../sample-images/gallery", import.meta.url)));

/** Write the gallery of a site, or one of its lessons, as a signed pack. @returns exit code. */
export function pack(path: string, { lesson: id, site }: { lesson?: string; site?: string }): Promise<number> {
  return withData(site, async (data, caller) => {
    const lesson = id === undefined ? null : await data.lessons.one(caller, id);
    const { references } = await data.gallery.shelf(caller, await stock.references());
    const bytes = await makePack(data, caller, stock, {
      name: lesson?.name ?? "Gallery",
      references: lesson ? references.filter((one) => lesson.references.includes(one.id)) : references,
      lessons: lesson ? [lesson] : [],
    });
    await writeFile(path, bytes, { flag: "wx" }).catch((error: NodeJS.ErrnoException) => {
      throw new UsageError(`${path} cannot be written (${error.code}). Name a new file.`);
    });
    process.stdout.write(`${path}: ${bytes.length} bytes\n`);
    return 0;
  });
}

/** Check a pack and say what it holds; with the key of whoever signed it, take it in. @returns exit code. */
export function unpack(path: string, { key, site }: { key?: string; site?: string }): Promise<number> {
  return withData(site, async (data, caller) => {
    const { size } = await stat(path).catch(() => {
      throw new UsageError(`There is no file ${path}.`);
    });
    if (size > MOST_PACK_BYTES) throw new UsageError(`${path} is larger than any pack (${MOST_PACK_BYTES / 1e6} MB).`);
    const bytes = await readFile(path);
    const look = await lookAtPack(data, caller, bytes);
    const told = [
      `${look.name}, made ${look.madeAt} by ${look.by} of ${look.site}`,
      `${look.references} references, ${look.lessons.length} lessons. Licences: ${look.licences.join(", ")}.`,
      `Authors: ${look.authors.join(", ")}.`,
      `Signed by the key ${look.key}${look.known === "no" ? ", of which nothing was taken in here before" : ""}.`,
    ];
    process.stdout.write(`${told.join("\n")}\n`);
    if (key === undefined) {
      process.stdout.write("Nothing was taken in. Ask whoever sent it for their key; then name it with --key.\n");
      return 0;
    }
    const { references, lessons } = await takePack(data, caller, await stock.references(), bytes, key);
    process.stdout.write(
      `Taken in: ${references.added} references (${references.here} were here), ${lessons.added} lessons (${lessons.here} were here).\n`,
    );
    return 0;
  });
}

async function withData(
  site: string | undefined,
  work: (data: Data, caller: Caller) => Promise<number>,
): Promise<number> {
  const { dataFolder, elsewhere } = readConfig(process.env);
  if (dataFolder === null) throw new UsageError("Name the data folder in DECKBANDS_DATA.");
  const data = await openData(dataFolder, elsewhere);
  try {
    return await work(data, site === undefined ? data.local : await callerIn(data, site));
  } finally {
    await data.close();
  }
}
