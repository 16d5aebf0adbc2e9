import { mkdir, readdir, readFile, rm, writeFile } from "node:fs/promises";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import sharp from "sharp";
import { decode } from "../../server/decode.ts";
import { type KnownDeck, knownScene, referenceOf } from "../../server/made-deck.ts";
import { type DeckFault, type Reference, ReferenceStock } from "../../vision/contract/index.ts";
import { describeDeck } from "../../vision/deck.ts";
import type { Pair } from "../../vision/geometry.ts";
import { invert, multiply, project, squareTo } from "../../vision/homography.ts";
import { makeScene } from "../../vision/scene/index.ts";

/**
 * Makes the gallery's first references, `sample-images/gallery/`: scenes of vision/scene (seeded) and the sample photos, small.
 *
 *     npx tsx sample-images/making/gallery.ts
 */

const SAMPLES = fileURLToPath(new URL("../", import.meta.url));
const GALLERY = join(SAMPLES, "gallery");
/**
 * Scenes that run, of materials with a name, whole in the picture and not burnt out, their bands at least 14 apart in CIELAB
 * (middling 7): the first of each fault from seed 7,000,001 on. Added to 7,000,000.
 */
const SEEDS = [
  15, 57, 77, 103, 119, 137, 141, 153, 165, 169, 177, 181, 187, 193, 217, 225, 241, 291, 305, 319, 399, 401, 461, 465,
  467, 477, 487, 501, 539, 553, 563, 573, 619, 623, 637, 689, 779, 789, 825, 963, 1227, 1629, 2007,
];
/** What is wrong on the sample photos, as their scenarios say. */
const SAMPLE_FAULTS: Readonly<Record<string, DeckFault>> = {
  "black-sand": "none",
  "copper-scrap-low": "tooLow",
  "dark-ore-dry-patch": "dry",
  "garnet-rill": "streaks",
  "low-sun-coal-high": "tooHigh",
  "marked-brass": "none",
  "night-tin-overload": "overloaded",
  "pale-heavy": "none",
  "rhomboid-chromite-surge": "surging",
  "starved-lead-flash": "starved",
  "sulphide-window": "none",
};

async function keep(known: KnownDeck): Promise<Reference> {
  const { reference, photo, classes } = await referenceOf(known);
  await writeFile(join(GALLERY, `${known.id}.jpg`), photo);
  await writeFile(join(GALLERY, `${known.id}.classes.png`), classes);
  return reference;
}

async function* samples(): AsyncGenerator<KnownDeck> {
  for (const [name, fault] of Object.entries(SAMPLE_FAULTS)) {
    const json = async (kind: string) => JSON.parse(await readFile(join(SAMPLES, `${name}.${kind}.json`), "utf8"));
    const [deckFile, about] = [await json("deck"), await json("about")];
    const { file } = describeDeck(deckFile);
    const grid = { mmPerCell: 2, columns: Math.ceil(file.lengthMm / 2), rows: Math.ceil(file.widthMm / 2) };
    const labels = new Uint8Array(
      await sharp(join(SAMPLES, `${name}.truth.png`))
        .toColourspace("b-w")
        .raw()
        .toBuffer(),
    );
    const { dense, middling, light } = about.materials;
    const { photo } = await decode(await readFile(join(SAMPLES, `${name}.jpg`)));
    const { corners } = await json("corners");
    const four = <T>(all: readonly T[]) => (all.length > 4 ? all.filter((_, n) => n !== 2) : all); // any four tell the plane
    const outline = describeDeck(deckFile).outline.map(({ x, y }): Pair => [x, y]);
    const toPhoto = multiply(squareTo(four(corners)), invert(squareTo(four(outline))));
    yield {
      id: name,
      title: about.title,
      fault,
      material: { dense, middling: middling ?? null, light },
      note: about.scenario,
      deckFile,
      marked: { grid, labels },
      photo,
      placeInPhoto: (at) => project(toPhoto, at),
    };
  }
}

for (const name of await readdir(GALLERY).catch(() => [])) if (/^scene-/.test(name)) await rm(join(GALLERY, name));
await mkdir(GALLERY, { recursive: true });
const references: Reference[] = [];
for (const seed of SEEDS.map((n) => 7_000_000 + n)) references.push(await keep(knownScene(seed, makeScene(seed))));
for await (const made of samples()) references.push(await keep(made));
const stock = ReferenceStock.parse({ schemaVersion: 1, references });
await writeFile(join(GALLERY, "references.json"), `${JSON.stringify(stock)}\n`);
const names = await readdir(GALLERY);
console.log(`${references.length} references, ${names.length} files`);
