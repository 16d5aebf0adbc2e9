import { inject } from "vitest";
import { sha256 } from "../../server/sha256.ts";
import { type Data, type Elsewhere, openData } from "../../server/storage/data.ts";
import { TEMPLATE } from "./kept-elsewhere.ts";
import { command } from "./postgres.ts";

/** Where these tests have rows: the same tests run on SQLite and on PostgreSQL. */
export const onPostgres = inject("postgres") !== undefined;
const known = new Map<string, Promise<Elsewhere>>();

/** What a test with this data folder keeps elsewhere: a database of its own, the same one as long as the folder is. */
export async function elsewhereOf(folder: string): Promise<Elsewhere> {
  const template = inject("postgres");
  if (template === undefined) return { database: null };
  const name = `test_${sha256(folder).slice(0, 24)}`;
  let made = known.get(folder);
  if (!made) {
    const server = template.replace(TEMPLATE, "postgres");
    const database = template.replace(TEMPLATE, name);
    made = command(server, `create database ${name} template ${TEMPLATE}`).then(() => ({ database }));
    known.set(folder, made);
  }
  return made;
}

/** Whatever is kept of this data folder, wherever these tests keep things. */
export const openKept = async (folder: string): Promise<Data> => openData(folder, await elsewhereOf(folder));

/** Nobody needs it any more. */
export async function forget(folder: string): Promise<void> {
  const made = await known.get(folder);
  if (!made?.database) return;
  known.delete(folder);
  const name = new URL(made.database).pathname.slice(1);
  await command(inject("postgres").replace(TEMPLATE, "postgres"), `drop database if exists ${name} with (force)`);
}
