import { mkdir, readdir, readFile, writeFile } from "node:fs/promises";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import sharp from "sharp";
import { decode } from "../../server/decode.ts";
import { markedPng } from "../../server/marked-png.ts";
import { type DeckFault, type DeckFileInput, type Reference, ReferenceStock } from "../../vision/contract/index.ts";
import { describeDeck } from "../../vision/deck.ts";
import { type Pair, pathLength } from "../../vision/geometry.ts";
import { faultBasis } from "../../vision/likeness/faults.ts";
import { lookOfMarks } from "../../vision/likeness/look.ts";
import type { Marked } from "../../vision/mark-up/agreement.ts";
import { bandEdges, stretchesOf } from "../../vision/mark-up/stretches.ts";
import { makeScene, type Scene } from "../../vision/scene/index.ts";
import type { Photo } from "../../vision/stages.ts";

/**
 * Makes the gallery's first references, `sample-images/gallery/`: scenes of vision/scene (seeded) and the sample photos, small.
 *
 *     npx tsx sample-images/making/gallery.ts
 */

const SAMPLES = fileURLToPath(new URL("../", import.meta.url));
const GALLERY = join(SAMPLES, "gallery");
/** How many scenes of each fault. */
const WANTED: Readonly<Record<Scene["work"]["fault"], [fault: DeckFault, count: number]>> = {
  none: ["none", 10],
  dry: ["dry", 6],
  overloaded: ["overloaded", 5],
  starved: ["starved", 5],
  rills: ["streaks", 4],
  surging: ["surging", 4],
  heaps: ["heaps", 3],
  "no-middling": ["noMiddling", 3],
  "no-dense": ["noDense", 2],
  empty: ["empty", 2],
};
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
const FIRST_SEED = 7_000_001;
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

/** Scenes that run, of materials with a name, whole in the picture; as many of each fault as are wanted. */
function* scenes(): Generator<Made> {
  const left = new Map(Object.entries(WANTED).map(([fault, [, count]]) => [fault, count]));
  for (let seed = FIRST_SEED; [...left.values()].some((count) => count > 0); seed += 2) {
    const look = makeScene(seed, 0.12);
    const { fault, state } = look.work;
    const { dense, light } = look.looks.names;
    const { width, height } = look.photo;
    const whole = look.corners.every(([x, y]) => x > 0 && y > 0 && x < width && y < height);
    const wanted = left.get(fault)!;
    if (wanted === 0 || state !== "running" || dense === "any" || light === "any" || !whole) continue;
    left.set(fault, wanted - 1);
    const scene = makeScene(seed, 1);
    const { columns, rows, cellMm, classes } = scene.truth;
    yield {
      id: `scene-${seed}`,
      title: `${dense[0]!.toUpperCase()}${dense.slice(1)} over ${light}`,
      fault: WANTED[fault][0],
      material: { dense, middling: fault === "no-middling" ? null : `locked ${dense}`, light },
      note: "",
      deckFile: { ...scene.deckFile, name: `Deck of scene ${seed}` },
      marked: { grid: { columns, rows, mmPerCell: cellMm }, labels: classes },
      photo: scene.photo,
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
    const material = { dense, middling: middling ?? null, light };
    yield {
      id: name,
      title: about.title,
      fault,
      material,
      note: about.scenario,
      deckFile,
      marked: { grid, labels },
      photo,
    };
  }
}

await mkdir(GALLERY, { recursive: true });
const references: Reference[] = [];
for (const made of scenes()) references.push(await keep(made));
for await (const made of samples()) references.push(await keep(made));
const stock = ReferenceStock.parse({ schemaVersion: 1, references });
await writeFile(join(GALLERY, "references.json"), `${JSON.stringify(stock)}\n`);
const names = await readdir(GALLERY);
console.log(`${references.length} references, ${names.length} files`);
