import { readFile } from "node:fs/promises";
import { join } from "node:path";
import {
  type Lesson,
  PACK_LIMITS,
  type PackFile,
  Reference,
  type ShownReference,
} from "../../vision/contract/index.ts";
import { RequestError } from "../problems.ts";
import { sha256 } from "../sha256.ts";
import type { Caller } from "../storage/caller.ts";
import { type Data, peopleOf, siteOf } from "../storage/data.ts";
import type { Stock } from "../storage/gallery.ts";
import { now } from "../storage/naming.ts";
import { type Pictures, packZip } from "./pack-zip.ts";
import { packKeyOf, signed } from "./signing.ts";

export interface Packed {
  readonly name: string;
  readonly references: readonly ShownReference[];
  readonly lessons: readonly Lesson[];
}

/** A signed pack of these references and lessons. @throws {RequestError} `not-found` for a picture that is gone, `pack-huge`. */
export async function makePack(
  data: Data,
  caller: Caller,
  stock: Stock,
  { name, references, lessons }: Packed,
): Promise<Uint8Array> {
  if (references.length === 0)
    throw new RequestError("not-found", "Nothing fits: there is nothing to pack. Ask for more.");
  if (references.length > PACK_LIMITS.references || lessons.length > PACK_LIMITS.lessons) {
    throw new RequestError(
      "pack-huge",
      `A pack holds at most ${PACK_LIMITS.references} references and ${PACK_LIMITS.lessons} lessons. Pack fewer at a time.`,
    );
  }
  const pictures = new Map<string, Pictures>();
  for (const { id, classesUrl } of references) {
    pictures.set(id, await picturesOf(data, caller, stock, id, classesUrl !== null));
  }
  const people = await peopleOf(data, caller);
  const file: PackFile = {
    kind: "deckbands pack",
    schemaVersion: 1,
    name,
    madeAt: now(),
    site: (await siteOf(data, caller)).name,
    by: people.find(({ id }) => id === caller.person)?.name ?? "?",
    references: references.map(({ photoUrl: _, classesUrl: __, ...reference }) => {
      const { photo, classes } = pictures.get(reference.id)!;
      return {
        reference: Reference.parse(reference),
        photoSha256: sha256(photo),
        classesSha256: classes && sha256(classes),
      };
    }),
    lessons: lessons.map(({ id, name: lesson, note, references: ids }) => ({
      id,
      name: lesson,
      note,
      references: ids,
    })),
  };
  const key = await packKeyOf(data.secrets);
  return packZip(file, pictures, (list) => signed(list, key));
}

async function picturesOf(
  data: Data,
  caller: Caller,
  stock: Stock,
  id: string,
  hasClasses: boolean,
): Promise<Pictures> {
  const own = await data.gallery.pictures(caller, id);
  const file = (name: string) => readFile(join(stock.folder, name)).catch(() => null);
  const photo = own ? await data.blobs.read(own.photo) : await file(`${id}.jpg`);
  const classes = own
    ? own.classes && (await data.blobs.read(own.classes))
    : hasClasses
      ? await file(`${id}.classes.png`)
      : null;
  if (!photo) throw new RequestError("not-found", `The photo of the reference ${id} is gone. Leave it out.`);
  return { photo, classes: classes || null };
}
