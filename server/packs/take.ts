import sharp from "sharp";
import type { PackLook, PackTaken, ShownReference } from "../../vision/contract/index.ts";
import { canonical } from "../canonical.ts";
import { readAnyMarkedPng } from "../marked-png.ts";
import { RequestError } from "../problems.ts";
import { sha256 } from "../sha256.ts";
import type { Caller } from "../storage/caller.ts";
import type { Data } from "../storage/data.ts";
import { idFrom } from "../storage/naming.ts";
import { broken, hostile, type OpenedPack, openPack } from "./pack-zip.ts";
import { keyWords, packKeyOf, publicPart } from "./signing.ts";

/** Longest side of a pack's photo, pixels: galleries keep previews. */
const MOST_PHOTO_PX = 4096;
/** Most cells of a deck's classes. */
const MOST_CELLS = 4_000_000;

/** What a pack holds and who signed it; nothing is kept. @throws {RequestError} as `openPack`, `pack-hostile` for pictures that are none. */
export async function lookAtPack(data: Data, caller: Caller, zip: Uint8Array): Promise<PackLook> {
  const { file, signature, pictures } = await checked(zip);
  const own = publicPart(await packKeyOf(data.secrets));
  const before = await data.packs.knows(caller, signature.publicKey);
  const each = (name: "licence" | "authors") =>
    [...new Set(file.references.map(({ reference }) => reference[name]))].sort();
  return {
    name: file.name,
    madeAt: file.madeAt,
    site: file.site,
    by: file.by,
    key: keyWords(signature.publicKey),
    known: signature.publicKey === own ? "own" : before ? "before" : "no",
    references: pictures.size,
    lessons: file.lessons.map(({ name }) => name),
    licences: each("licence"),
    authors: each("authors"),
  };
}

/**
 * Take a pack in, all of it or nothing: references with licence and authors as they stand, and lessons of them. What is here already
 * is left alone.
 *
 * @param key    Whose signature is accepted, as `lookAtPack` told it.
 * @param stock  References that come with the program.
 * @throws {RequestError} as `lookAtPack`; `pack-other-key`.
 */
export async function takePack(
  data: Data,
  caller: Caller,
  stock: readonly ShownReference[],
  zip: Uint8Array,
  key: string,
): Promise<PackTaken> {
  const { file, signature, pictures } = await checked(zip);
  if (keyWords(signature.publicKey) !== key) {
    throw new RequestError(
      "pack-other-key",
      `This pack is signed by the key ${keyWords(signature.publicKey)}, not by ${key}. Ask whoever sent it which is theirs.`,
    );
  }
  const { references: shelf } = await data.gallery.shelf(caller, stock);
  const here = new Map(shelf.map((reference) => [reference.id, reference]));
  const named = new Map<string, string>();
  const added = file.references.flatMap(({ reference }) => {
    const there = here.get(reference.id);
    const isOther = there !== undefined && !sameReference(there, reference);
    // two sites may have named two things alike; the other name is the same at each try
    const id = isOther ? idFrom(sha256(canonical(reference))) : reference.id;
    named.set(reference.id, id);
    return here.has(id) ? [] : [{ reference: { ...reference, id }, ...pictures.get(reference.id)! }];
  });
  const lessons = file.lessons.map(({ name, note, references }) => ({
    name,
    note,
    references: references.map((id) => named.get(id)!),
  }));
  const lessonsAdded = await data.packs.add(
    caller,
    { name: file.name, publicKey: signature.publicKey },
    added,
    lessons,
  );
  return {
    name: file.name,
    references: { added: added.length, here: file.references.length - added.length },
    lessons: { added: lessonsAdded, here: lessons.length - lessonsAdded },
  };
}

const sameReference = ({ photoUrl: _, classesUrl: __, ...there }: ShownReference, reference: object) =>
  canonical(there) === canonical(reference);
/** A pack whose pictures are pictures too. */
async function checked(zip: Uint8Array): Promise<OpenedPack> {
  const pack = openPack(zip);
  for (const [id, { photo, classes }] of pack.pictures) {
    const { format, width, height } = await sharp(photo, { limitInputPixels: MOST_PHOTO_PX ** 2 })
      .metadata()
      .catch(() => ({ format: null, width: 0, height: 0 }));
    if (format !== "jpeg") throw broken(`The photo of ${id} is no JPEG.`);
    if (Math.max(width, height) > MOST_PHOTO_PX) throw hostile(`The photo of ${id} is ${width} × ${height} pixels.`);
    if (classes) readAnyMarkedPng(classes, MOST_CELLS);
  }
  return pack;
}
