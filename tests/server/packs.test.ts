import { generateKeyPairSync } from "node:crypto";
import { mkdtempSync, readdirSync } from "node:fs";
import { readFile, rm } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { strToU8, unzipSync, type Zippable, zipSync } from "fflate";
import sharp from "sharp";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { pack, unpack } from "../../server/commands/pack.ts";
import { keyWords, publicPart, signed } from "../../server/packs/signing.ts";
import { Reader } from "../../server/reader.ts";
import { sha256 } from "../../server/sha256.ts";
import {
  type Lesson,
  PackFile,
  PackLook,
  PackSignature,
  PackTaken,
  ReferenceList,
} from "../../vision/contract/index.ts";
import { keepReading } from "./kept-readings.ts";
import { denseBetween } from "./readings.ts";
import { MOODY, problemOf, type Serving, serving } from "./serving.ts";

/** Packs: gallery and lessons carried from one server to another as one signed file; what is no whole pack is refused. */

let from: Serving;
let to: Serving;
let own: string;
let lesson: Lesson;
let zip: Uint8Array;

beforeAll(async () => {
  [from, to] = await Promise.all([
    serving({ reader: new Reader({ entry: MOODY }) }),
    serving({ reader: new Reader({ entry: MOODY }) }),
  ]);
  const classes = await sharp(new Uint8Array(915 * 455).fill(1), { raw: { width: 915, height: 455, channels: 1 } })
    .toColourspace("b-w")
    .png()
    .toBuffer();
  const reading = await keepReading(from.parts, 1, denseBetween(10, 222, 4), { classes });
  const { db, blobs } = from.parts.data;
  const preview = await sharp({ create: { width: 400, height: 300, channels: 3, background: "#777" } })
    .jpeg()
    .toBuffer();
  await db
    .updateTable("photos")
    .set({ preview_sha256: await blobs.keep(preview) })
    .execute();
  const material = { dense: "cassiterite", middling: null, light: "quartz" };
  const about = { reading, title: "Our own deck", material, fault: "tooHigh", authors: "Asha", licence: "CC-BY-4.0" };
  own = ((await (await from.ask("POST", "/api/gallery", about)).json()) as { id: string }).id;
  const stock = ReferenceList.parse(await (await from.get("/api/gallery?fault=dry&limit=2")).json()).items;
  const body = { name: "Dry and high", note: "From the north", references: [own, ...stock.map(({ id }) => id)] };
  lesson = (await (await from.ask("POST", "/api/lessons", body)).json()) as Lesson;
  const packed = await from.get(`/api/lessons/${lesson.id}/pack.zip`);
  if (!packed.ok) throw new Error(await packed.text());
  zip = new Uint8Array(await packed.arrayBuffer());
});
afterAll(() => Promise.all([from.close(), to.close()]));

const post = (path: string, bytes: Uint8Array) =>
  fetch(to.at + path, {
    method: "POST",
    body: bytes as Uint8Array<ArrayBuffer>,
    headers: { "Content-Type": "application/zip" },
  });
const look = (bytes: Uint8Array) => post("/api/packs/look", bytes);

describe("a lesson as a pack", () => {
  it("holds open formats alone: JSON, JPEG, PNG, text with licences; a general-purpose library reads its pictures", async () => {
    const files = unzipSync(zip);
    const names = Object.keys(files);
    expect(names.filter((name) => !/\.(json|jpg|png|txt)$/.test(name))).toEqual([]);
    const listed = PackFile.parse(JSON.parse(new TextDecoder().decode(files["pack.json"])));
    expect(listed.lessons).toEqual([
      { id: lesson.id, name: "Dry and high", note: "From the north", references: lesson.references },
    ]);
    expect((await sharp(files[`photos/${own}.jpg`]).metadata()).format).toBe("jpeg");
    expect(await sharp(files[`classes/${own}.png`]).metadata()).toMatchObject({
      format: "png",
      width: 915,
      height: 455,
    });
    const licences = new TextDecoder().decode(files["LICENCES.txt"]);
    expect(licences).toContain("Our own deck. By Asha. Licence: CC-BY-4.0.");
    expect((await sharp(files[`photos/${own}.jpg`]).metadata()).exif).toBeUndefined(); // no position goes along
  });

  it("is looked at first: who signed it, how much it holds, licences and authors; nothing is kept by that", async () => {
    const answer = PackLook.parse(await (await look(zip)).json());
    expect(answer).toMatchObject({ name: "Dry and high", known: "no", references: 3, lessons: ["Dry and high"] });
    expect(answer.licences).toEqual(["CC-BY-4.0", "CC0-1.0"]);
    expect(answer.authors).toContain("Asha");
    expect(await kept()).toEqual(NOTHING);
  });

  it("is taken in by its key alone, with licence and authors; once more changes nothing", async () => {
    const { key } = PackLook.parse(await (await look(zip)).json());
    await problemOf(await post("/api/packs?key=0000-0000-0000-0000-0000", zip), 409, "pack-other-key");
    const answer = await post(`/api/packs?key=${key}`, zip);
    expect(answer.status).toBe(201);
    // what came with the program is here already
    expect(PackTaken.parse(await answer.json())).toMatchObject({
      references: { added: 1, here: 2 },
      lessons: { added: 1, here: 0 },
    });
    const { items } = ReferenceList.parse(await (await to.get("/api/gallery?words=our%20own")).json());
    expect(items).toMatchObject([
      { id: own, title: "Our own deck", authors: "Asha", licence: "CC-BY-4.0", fault: "tooHigh" },
    ]);
    const there = Buffer.from(await (await to.get(items[0]!.photoUrl)).arrayBuffer());
    expect(there.equals(Buffer.from(await (await from.get(items[0]!.photoUrl)).arrayBuffer()))).toBe(true);
    expect((await to.get(items[0]!.classesUrl!)).status).toBe(200);
    const again = PackTaken.parse(await (await post(`/api/packs?key=${key}`, zip)).json());
    expect(again).toMatchObject({ references: { added: 0, here: 3 }, lessons: { added: 0, here: 1 } });
    expect(PackLook.parse(await (await look(zip)).json()).known).toBe("before");
    const lessons = (await (await to.get("/api/lessons")).json()) as { items: Lesson[] };
    expect(lessons.items.map(({ name, references }) => ({ name, references }))).toEqual([
      { name: "Dry and high", references: lesson.references },
    ]);
    const tried = { lesson: lessons.items[0]!.id, reference: own, fault: "tooHigh", edges: [] };
    expect((await to.ask("POST", "/api/lesson-tries", tried)).status).toBe(201);
  });

  it("taken in, it can be packed on and taken away again; its pictures outlive a clean-up while they are wanted", async () => {
    const gallery = await (await to.get("/api/packs/gallery.zip?words=our%20own")).arrayBuffer();
    expect(PackLook.parse(await (await look(new Uint8Array(gallery))).json())).toMatchObject({
      known: "own",
      references: 1,
    });
    const blobs = await to.parts.data.db.selectFrom("packed_references").select("photo_sha256").execute();
    const { blobsNamed } = await import("../../server/storage/references.ts");
    expect((await blobsNamed(to.parts.data.db)).has(blobs[0]!.photo_sha256)).toBe(true);
    expect((await to.ask("DELETE", `/api/gallery/${own}`)).status).toBe(204);
    await problemOf(await to.get(`/api/gallery/${own}`), 404, "not-found");
    await to.parts.data.db.deleteFrom("lessons").execute();
    await to.parts.data.db.deleteFrom("packs").execute();
  });
});

// what is no whole pack

const NOTHING = { packs: 0, references: 0, lessons: 0 };
async function kept() {
  const { db } = to.parts.data;
  const count = async (table: "packs" | "packed_references" | "lessons") =>
    (await db.selectFrom(table).select("id").execute()).length;
  return { packs: await count("packs"), references: await count("packed_references"), lessons: await count("lessons") };
}
/** The pack with its files changed, zipped anew. */
function changed(change: (files: Record<string, Uint8Array>) => void, more: Zippable = {}): Uint8Array {
  const files = unzipSync(zip);
  change(files);
  return zipSync({ ...files, ...more }, { level: 0 });
}
/** The pack with its list changed and signed anew, as somebody could who has a key of their own. */
function resigned(
  change: (file: PackFile) => void,
  alter: (files: Record<string, Uint8Array>) => void = () => {},
): Uint8Array {
  return changed((files) => {
    const file = JSON.parse(new TextDecoder().decode(files["pack.json"])) as PackFile;
    change(file);
    alter(files);
    for (const one of file.references) {
      const [photo, classes] = [files[`photos/${one.reference.id}.jpg`], files[`classes/${one.reference.id}.png`]];
      if (photo) one.photoSha256 = sha256(photo);
      if (classes) one.classesSha256 = sha256(classes);
    }
    files["pack.json"] = strToU8(JSON.stringify(file));
    files["signature.json"] = strToU8(JSON.stringify(signed(files["pack.json"], STRANGER)));
  });
}
/** A squeezed file whose heads, local and central, say that it is small (APPNOTE, sections 4.3.7 and 4.3.12). */
function lyingBomb(): Uint8Array {
  const bytes = Buffer.from(changed(() => {}, { "photos/bomb.jpg": [new Uint8Array(50_000_000), { level: 9 }] }));
  for (const [signature, atSize, atName] of [
    ["PK\x03\x04", 22, 30],
    ["PK\x01\x02", 24, 46],
  ] as const) {
    for (let at = bytes.indexOf(signature); at >= 0; at = bytes.indexOf(signature, at + 1)) {
      if (bytes.toString("latin1", at + atName, at + atName + 15) === "photos/bomb.jpg")
        bytes.writeUInt32LE(900, at + atSize);
    }
  }
  return bytes;
}
const STRANGER = generateKeyPairSync("ed25519").privateKey;
const text = (bytes: Uint8Array) => new TextDecoder().decode(bytes);
const replaced = (bytes: Uint8Array, a: string, b: string) => strToU8(text(bytes).replace(a, b));

describe("what is broken, forged, hostile or huge is refused by name, and nothing is kept", () => {
  const half = () => zip.subarray(0, zip.length / 2);
  it.each([
    ["no ZIP", () => strToU8("no zip at all"), "pack-broken"],
    ["nothing", () => new Uint8Array(), "pack-broken"],
    ["half of a pack", half, "pack-broken"],
    ["no signature", () => changed((files) => delete files["signature.json"]), "pack-broken"],
    ["a photo that is missing", () => changed((files) => delete files[`photos/${own}.jpg`]), "pack-broken"],
    [
      "another photo than the list says",
      () => changed((files) => files[`photos/${own}.jpg`]!.set([1, 2, 3], 900)),
      "pack-broken",
    ],
    [
      "a list changed after it was signed",
      () =>
        changed((files) => {
          files["pack.json"] = replaced(files["pack.json"]!, "CC-BY-4.0", "CC0-1.0");
        }),
      "pack-forged",
    ],
    [
      "a signature of other bytes",
      () =>
        changed((files) => {
          files["signature.json"] = strToU8(JSON.stringify(signed(strToU8("other"), STRANGER)));
        }),
      "pack-forged",
    ],
    [
      "a key that is no point",
      () =>
        changed((files) => {
          const one = PackSignature.parse(JSON.parse(text(files["signature.json"]!)));
          files["signature.json"] = strToU8(JSON.stringify({ ...one, publicKey: "_".repeat(43) }));
        }),
      "pack-forged",
    ],
    ["a newer program's pack", () => resigned((file) => Object.assign(file, { schemaVersion: 2 })), "pack-newer"],
    ["a field nobody knows", () => resigned((file) => Object.assign(file, { run: "this" })), "pack-broken"],
    [
      "a lesson without its reference",
      () => resigned((file) => file.lessons[0]!.references.push("gone")),
      "pack-broken",
    ],
    ["a path out of the folder", () => changed(() => {}, { "../../evil.js": strToU8("1") }), "pack-hostile"],
    ["an absolute path", () => changed(() => {}, { "/etc/passwd": strToU8("1") }), "pack-hostile"],
    ["a path with backslashes", () => changed(() => {}, { "photos\\..\\evil.jpg": strToU8("1") }), "pack-hostile"],
    [
      "a file that the list does not name",
      () => changed(() => {}, { "photos/extra.jpg": strToU8("1") }),
      "pack-hostile",
    ],
    [
      "a reference named as a path",
      () =>
        resigned((file) => {
          file.references[0]!.reference.id = "../../x";
        }),
      "pack-broken",
    ],
    [
      "a bomb",
      () => changed(() => {}, { "photos/bomb.jpg": [new Uint8Array(7_900_000), { level: 9 }] }),
      "pack-hostile",
    ],
    [
      "a file larger than any",
      () => changed(() => {}, { "photos/large.jpg": new Uint8Array(8_000_001) }),
      "pack-hostile",
    ],
    ["a bomb that lies about its size", lyingBomb, "pack-hostile"],
    [
      "a bomb of the list",
      () => changed(() => {}, { "pack.json": [new Uint8Array(60_000_000), { level: 9 }] }),
      "pack-hostile",
    ],
    [
      "a photo that is a page with a script",
      () =>
        resigned(
          () => {},
          (files) => {
            files[`photos/${own}.jpg`] = strToU8(
              "<svg xmlns='http://www.w3.org/2000/svg'><script>alert(1)</script></svg>",
            );
          },
        ),
      "pack-broken",
    ],
    [
      "areas that are no PNG",
      () =>
        resigned(
          () => {},
          (files) => {
            files[`classes/${own}.png`] = strToU8("GIF89a");
          },
        ),
      "marks-file",
    ],
  ] as const)("%s", async (_name, made, code) => {
    const bytes = made();
    await problemOf(await look(bytes), 422, code);
    await problemOf(await post(`/api/packs?key=${keyWords(publicPart(STRANGER))}`, bytes), 422, code);
    expect(await kept()).toEqual(NOTHING);
  });

  it("areas whose head claims a picture of 20 000 × 20 000 pixels are never unpacked", async () => {
    const png = new Uint8Array(64);
    png.set([137, 80, 78, 71, 13, 10, 26, 10]);
    new DataView(png.buffer).setUint32(16, 20_000);
    new DataView(png.buffer).setUint32(20, 20_000);
    const bytes = resigned(
      () => {},
      (files) => {
        files[`classes/${own}.png`] = png;
      },
    );
    const start = Date.now();
    await problemOf(await look(bytes), 422, "marks-file");
    expect(Date.now() - start).toBeLessThan(3000);
  });

  it("a photo larger than any gallery's is refused", async () => {
    const large = await sharp({ create: { width: 5000, height: 10, channels: 3, background: "#888" } })
      .jpeg()
      .toBuffer();
    const bytes = resigned(
      () => {},
      (files) => {
        files[`photos/${own}.jpg`] = large;
      },
    );
    await problemOf(await look(bytes), 422, "pack-hostile");
  });

  it("what says it is over 100 MB is refused before it is read", async () => {
    const answer = await fetch(`${to.at}/api/packs/look`, {
      method: "POST",
      body: new Uint8Array(101e6),
      headers: { "Content-Type": "application/zip" },
    });
    await problemOf(answer, 413, "body-too-large");
  });

  it("a name that both have for different things comes in under another one, the same each time", async () => {
    const twin = resigned((file) => {
      const [stock] = file.references.filter(({ reference }) => reference.licence === "CC0-1.0");
      stock!.reference.title = "Another deck of that name";
    });
    const key = keyWords(publicPart(STRANGER));
    const first = PackTaken.parse(await (await post(`/api/packs?key=${key}`, twin)).json());
    expect(first.references).toEqual({ added: 2, here: 1 });
    const again = PackTaken.parse(await (await post(`/api/packs?key=${key}`, twin)).json());
    expect(again.references).toEqual({ added: 0, here: 3 });
    const { items } = ReferenceList.parse(await (await to.get("/api/gallery?words=another%20deck")).json());
    expect(items).toHaveLength(1);
  });
});

it("commands pack a gallery and take it in elsewhere, by its key; a damaged one leaves nothing", async () => {
  const [north, south] = [
    mkdtempSync(join(tmpdir(), "deckbands-pack-")),
    mkdtempSync(join(tmpdir(), "deckbands-pack-")),
  ];
  const said: string[] = [];
  const write = process.stdout.write;
  const run = async (data: string, work: () => Promise<number>) => {
    process.env.DECKBANDS_DATA = data;
    process.stdout.write = (words: string | Uint8Array) => said.push(String(words)) > 0;
    try {
      return await work();
    } finally {
      process.stdout.write = write;
      delete process.env.DECKBANDS_DATA;
    }
  };
  const path = join(north, "gallery.pack.zip");
  expect(await run(north, () => pack(path, {}))).toBe(0);
  expect((await readFile(path)).length).toBeGreaterThan(1_000_000);
  expect(await run(south, () => unpack(path, {}))).toBe(0);
  const key = /key ([0-9a-f-]{24})/.exec(said.join(""))![1]!;
  expect(said.join("")).toContain("Nothing was taken in.");
  expect(await run(south, () => unpack(path, { key }))).toBe(0);
  expect(said.join("")).toMatch(/Taken in: 0 references \(\d+ were here\)/); // the stock comes with the program
  await expect(run(south, () => pack(path, {}))).rejects.toThrow("cannot be written");
  expect(readdirSync(join(south)).sort()).toContain("pack-key.pem");
  await Promise.all([north, south].map((folder) => rm(folder, { recursive: true, force: true })));
});
