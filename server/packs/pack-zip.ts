import { strFromU8, strToU8, unzipSync, type Zippable, zipSync } from "fflate";
import { PackFile, PackSignature } from "../../vision/contract/index.ts";
import { RequestError } from "../problems.ts";
import { sha256 } from "../sha256.ts";
import { isSigned } from "./signing.ts";

/**
 * A pack as one ZIP: `pack.json` and its signature, `photos/ID.jpg`, `classes/ID.png`, and `LICENCES.txt` for people. Nothing in it
 * is ever written under its own name; what its list does not name is refused. Its files are stored as they are: nothing in it is
 * inflated, so that no bomb can hide in it, whatever sizes it claims.
 */

/** Most bytes of a pack, and of one file in it: lists, then pictures. */
export const MOST_PACK_BYTES = 100e6;
const MOST_LIST = 20e6;
const MOST_PICTURE = 8e6;
/** The method of a ZIP's entry that is stored as it is (APPNOTE, section 4.4.5). */
const STORED = 0;

const LIST = "pack.json";
const SIGNATURE = "signature.json";
const LICENCES = "LICENCES.txt";
const photoName = (id: string) => `photos/${id}.jpg`;
const classesName = (id: string) => `classes/${id}.png`;

export interface Pictures {
  readonly photo: Uint8Array;
  readonly classes: Uint8Array | null;
}
export interface OpenedPack {
  readonly file: PackFile;
  readonly signature: PackSignature;
  /** By the reference's id. */
  readonly pictures: ReadonlyMap<string, Pictures>;
}

/** @param sign  Makes the signature of the list's bytes. */
export function packZip(
  file: PackFile,
  pictures: ReadonlyMap<string, Pictures>,
  sign: (list: Uint8Array) => PackSignature,
) {
  const list = strToU8(JSON.stringify(file, null, 1));
  const entries: Zippable = {
    [LIST]: list,
    [SIGNATURE]: strToU8(JSON.stringify(sign(list), null, 1)),
    [LICENCES]: strToU8(licenceLines(file).join("\n")),
  };
  for (const [id, { photo, classes }] of pictures) {
    entries[photoName(id)] = photo;
    if (classes) entries[classesName(id)] = classes;
  }
  return zipSync(entries, { level: 0 });
}

const licenceLines = ({ name, references }: PackFile) => [
  name,
  "",
  ...references.map(
    ({ reference: { id, title, authors, licence } }) => `${id}: ${title}. By ${authors}. Licence: ${licence}.`,
  ),
  "",
];

/**
 * @throws {RequestError} `pack-broken` for what is no whole pack, `pack-hostile` for names and sizes that no pack has, `pack-newer`,
 *         `pack-forged` where the signature is not of this list.
 */
export function openPack(zip: Uint8Array): OpenedPack {
  const found = unzipped(zip);
  const [listBytes, signatureBytes] = [found.get(LIST), found.get(SIGNATURE)];
  if (!listBytes || !signatureBytes) throw broken("It lacks its list or its signature.");
  const listed = jsonOf(listBytes);
  if (
    (listed as { schemaVersion?: unknown })?.schemaVersion !== 1 &&
    (listed as { kind?: unknown })?.kind === "deckbands pack"
  ) {
    throw new RequestError(
      "pack-newer",
      "A newer program made this pack. Bring this program up to date, then try again.",
    );
  }
  const file = PackFile.safeParse(listed);
  const signature = PackSignature.safeParse(jsonOf(signatureBytes));
  if (!file.success || !signature.success) throw broken("Its list cannot be read.");
  if (!isSigned(listBytes, signature.data)) {
    throw new RequestError(
      "pack-forged",
      "This pack was changed after it was signed: nothing was taken in. Have it made and sent again.",
    );
  }
  const pictures = new Map<string, Pictures>();
  const known = new Set([LIST, SIGNATURE, LICENCES]);
  for (const { reference, photoSha256, classesSha256 } of file.data.references) {
    const { id } = reference;
    if (pictures.has(id)) throw hostile(`It has the reference ${id} twice.`);
    const photo = listedFile(found, photoName(id), photoSha256);
    const classes = classesSha256 === null ? null : listedFile(found, classesName(id), classesSha256);
    known.add(photoName(id)).add(classesName(id));
    pictures.set(id, { photo, classes });
  }
  const stranger = [...found.keys()].find((name) => !known.has(name));
  if (stranger !== undefined) throw hostile(`It holds "${printable(stranger)}", which its list does not name.`);
  const lacking = file.data.lessons.find(({ references }) => references.some((id) => !pictures.has(id)));
  if (lacking) throw broken(`The lesson "${lacking.name}" lacks a reference.`);
  return { file: file.data, signature: signature.data, pictures };
}

function listedFile(found: ReadonlyMap<string, Uint8Array>, name: string, digest: string): Uint8Array {
  const bytes = found.get(name);
  if (!bytes) throw broken(`It lacks ${name}.`);
  if (sha256(bytes) !== digest) throw broken(`${name} is not the file that its list names.`);
  return bytes;
}

/** Names, ways of storing and sizes are looked at before anything is taken out. */
function unzipped(zip: Uint8Array): ReadonlyMap<string, Uint8Array> {
  const names = new Set<string>();
  try {
    const files = unzipSync(zip, {
      filter: ({ name, originalSize, size, compression }) => {
        if (name.endsWith("/") && originalSize === 0 && /^(photos|classes)\/$/.test(name)) return false;
        if (
          !/^(pack\.json|signature\.json|LICENCES\.txt|photos\/[\w-]{1,64}\.jpg|classes\/[\w-]{1,64}\.png)$/.test(name)
        ) {
          throw hostile(`It holds a file named "${printable(name)}".`);
        }
        if (names.has(name)) throw hostile(`It holds ${name} twice.`);
        names.add(name);
        if (compression !== STORED) throw hostile(`${name} is squeezed; files of packs are stored as they are.`);
        if (Math.max(size, originalSize) > (name.includes("/") ? MOST_PICTURE : MOST_LIST)) {
          throw hostile(`${name} is larger than any file of a pack.`);
        }
        return true;
      },
    });
    return new Map(Object.entries(files));
  } catch (error) {
    throw error instanceof RequestError ? error : broken("It is no whole ZIP.");
  }
}

function jsonOf(bytes: Uint8Array): unknown {
  try {
    return JSON.parse(strFromU8(bytes));
  } catch {
    return null;
  }
}

/** A name that may be anything, short and without what a screen could trip over. */
const printable = (name: string) => name.replace(/[^\x20-\x7e]/g, "?").slice(0, 80);
export const broken = (why: string) =>
  new RequestError("pack-broken", `This is no whole pack: nothing was taken in. ${why} Have it sent again.`);
export const hostile = (why: string) =>
  new RequestError("pack-hostile", `This pack is not as packs are made: nothing was taken in. ${why} Do not use it.`);
