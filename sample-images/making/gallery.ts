import { mkdir, readdir, readFile, rm, writeFile } from "node:fs/promises";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import sharp from "sharp";
import { decode } from "../../server/decode.ts";
import { markedPng } from "../../server/marked-png.ts";
import { type DeckFault, type DeckFileInput, type Reference, ReferenceStock } from "../../vision/contract/index.ts";
import { describeDeck } from "../../vision/deck.ts";
import { type Pair, pathLength } from "../../vision/geometry.ts";
import { invert, multiply, project, squareTo } from "../../vision/homography.ts";
import { faultBasis } from "../../vision/likeness/faults.ts";
import { lookOfMarks } from "../../vision/likeness/look.ts";
import { outletInPhoto } from "../../vision/likeness/outlet-in-photo.ts";
import type { Marked } from "../../vision/mark-up/agreement.ts";
import { bandEdges, stretchesOf } from "../../vision/mark-up/stretches.ts";
import { photoPlace } from "../../vision/scene/camera.ts";
import { makeScene, type Scene } from "../../vision/scene/index.ts";
import type { Photo } from "../../vision/stages.ts";

/**
 * Makes the gallery's first references, `sample-images/gallery/`: scenes of vision/scene (seeded) and the sample photos, small.
 *
 *     npx tsx sample-images/making/gallery.ts
 */

const SAMPLES = fileURLToPath(new URL("../", import.meta.url));
const GALLERY = join(SAMPLES, "gallery");
/** The scene maker's faults by the names that people know them by. */
const FAULTS: Readonly<Record<Scene["work"]["fault"], DeckFault>> = {
  none: "none",
  dry: "dry",
  overloaded: "overloaded",
  starved: "starved",
  rills: "streaks",
  surging: "surging",
  heaps: "heaps",
  "no-middling": "noMiddling",
  "no-dense": "noDense",
  empty: "empty",
};
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
const PHOTO_PX = 760;
const MOST_BYTES = 40_000;
const MOST_COLUMNS = 320;

interface Made {
  readonly id: string;
  readonly title: string;
  readonly fault: DeckFault;
  readonly material: Reference["material"];
  readonly note: string;
  readonly deckFile: DeckFileInput;
  readonly marked: Marked;
  readonly photo: Photo;
  /** Deck mm → photo pixel. */
  readonly placeInPhoto: (at: Pair) => Pair;
}

async function keep(made: Made): Promise<Reference> {
  const { file, outline, outletPath } = describeDeck(made.deckFile);
  const path = outletPath.map(({ x, y }): Pair => [x, y]);
  const outletMm = Math.round(10 * pathLength(path)) / 10;
  const stretches = stretchesOf(made.marked.labels, made.marked.grid, path);
  const { width, height, rgba } = made.photo;
  const small = sharp(rgba, { raw: { width, height, channels: 4 } })
    .removeAlpha()
    .resize(PHOTO_PX, PHOTO_PX, { fit: "inside", withoutEnlargement: true });
  for (let quality = 82; ; quality -= 6) {
    const jpeg = await small.clone().jpeg({ quality, mozjpeg: true }).toBuffer();
    if (jpeg.length > MOST_BYTES && quality > 20) continue;
    await writeFile(join(GALLERY, `${made.id}.jpg`), jpeg);
    break;
  }
  await writeFile(join(GALLERY, `${made.id}.classes.png`), markedPng(coarser(made.marked)));
  return {
    schemaVersion: 1,
    id: made.id,
    title: made.title,
    material: made.material,
    deck: {
      name: made.deckFile.name ?? "Deck",
      lengthMm: file.lengthMm,
      widthMm: file.widthMm,
      outline: outline.map(({ x, y }): [number, number] => [x, y]),
      outletMm,
    },
    outletInPhoto: outletInPhoto(path, made.placeInPhoto, made.photo),
    settings: null,
    running: true,
    fault: made.fault,
    note: made.note,
    basis: faultBasis(made.fault),
    edges: bandEdges(stretches).map(({ kind, edge, atMm }) => ({ kind, edge, atMm: Math.round(10 * atMm) / 10 })),
    look: lookOfMarks(made.marked, stretches, outletMm, { dryPatches: 0, rills: 0 }),
    authors: "The deckbands project",
    licence: "CC0-1.0",
  };
}

/** Every n-th cell, so that a mask has few columns. */
function coarser({ grid, labels }: Marked): Marked {
  const step = Math.ceil(grid.columns / MOST_COLUMNS);
  const [columns, rows] = [Math.ceil(grid.columns / step), Math.ceil(grid.rows / step)];
  const at = (i: number) => {
    const column = Math.min(grid.columns - 1, (i % columns) * step + (step >> 1));
    const row = Math.min(grid.rows - 1, Math.floor(i / columns) * step + (step >> 1));
    return labels[row * grid.columns + column]!;
  };
  return {
    grid: { columns, rows, mmPerCell: grid.mmPerCell * step },
    labels: Uint8Array.from({ length: columns * rows }, (_, i) => at(i)),
  };
}

function* scenes(): Generator<Made> {
  for (const seed of SEEDS.map((n) => 7_000_000 + n)) {
    const scene = makeScene(seed, 1);
    const { fault } = scene.work;
    const { dense, light } = scene.looks.names;
    const { columns, rows, cellMm, classes } = scene.truth;
    yield {
      id: `scene-${seed}`,
      title: `${dense[0]!.toUpperCase()}${dense.slice(1)} over ${light}`,
      fault: FAULTS[fault],
      material: { dense, middling: fault === "no-middling" ? null : `locked ${dense}`, light },
      note: "",
      deckFile: { ...scene.deckFile, name: `Deck of scene ${seed}` },
      marked: { grid: { columns, rows, mmPerCell: cellMm }, labels: classes },
      photo: scene.photo,
      placeInPhoto: (at) => photoPlace(scene.camera, at),
    };
  }
}

async function* samples(): AsyncGenerator<Made> {
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
for (const made of scenes()) references.push(await keep(made));
for await (const made of samples()) references.push(await keep(made));
const stock = ReferenceStock.parse({ schemaVersion: 1, references });
await writeFile(join(GALLERY, "references.json"), `${JSON.stringify(stock)}\n`);
const names = await readdir(GALLERY);
console.log(`${references.length} references, ${names.length} files`);
