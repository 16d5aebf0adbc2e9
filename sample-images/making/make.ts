/**
 * Makes the pictures: paint the deck, render it, finish it as a phone photo, and write the truth beside it.
 *
 *   npx tsx make.ts --set samples|unusable|tuning [--out DIR] [--work DIR] [--only NAME,NAME] [--width 2000] [--samples 36] [--texel 1]
 *
 * Needs Blender 3.4 or later on the path. The work folder (by default in the system's temporary folder) keeps the
 * painted maps, the raw render and a check picture; `--keep-render` finishes again from the render already there.
 */
import { execFileSync } from "node:child_process";
import { closeSync, mkdirSync, openSync, readFileSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { fileURLToPath } from "node:url";
import { parseArgs } from "node:util";
import sharp from "sharp";
import { markSvg } from "../../vision/finding/marker-sheet.ts";
import { deckFile } from "./deck-file.ts";
import { deckShape } from "./deck-shape.ts";
import { finish } from "./finish.ts";
import { checkPicture, homography, markUnseen } from "./flat.ts";
import { meanColour, type Painted, paint } from "./paint.ts";
import { SAMPLES } from "./samples.ts";
import type { Point, Scenario } from "./scenario.ts";
import { TUNING } from "./tuning.ts";
import { UNUSABLE } from "./unusable.ts";

const here = (path: string) => fileURLToPath(new URL(path, import.meta.url));
const SETS: Record<string, { scenes: Scenario[]; out: string; width: string; samples: string }> = {
  samples: { scenes: SAMPLES, out: here(".."), width: "2000", samples: "36" },
  unusable: { scenes: UNUSABLE, out: here("../unusable"), width: "2000", samples: "36" },
  tuning: { scenes: TUNING, out: "", width: "1400", samples: "44" },
};
const text = { type: "string" } as const;
const { values: options } = parseArgs({
  options: {
    set: { ...text, default: "samples" },
    out: text,
    work: { ...text, default: join(tmpdir(), "deck-work") },
    only: { ...text, default: "" },
    width: text,
    samples: text,
    texel: { ...text, default: "1" },
    "keep-render": { type: "boolean" },
  },
});
const SET = SETS[options.set];
if (!SET) throw new Error(`There is no set "${options.set}". Sets: ${Object.keys(SETS).join(", ")}.`);
const OUT = options.out ?? SET.out;
if (!OUT) throw new Error("Name a folder with --out: the tuning set is not kept here.");
const only = options.only.split(",").filter(Boolean);
const unknown = only.filter((name) => !SET.scenes.some((s) => s.name === name));
if (unknown.length > 0) throw new Error(`The set "${options.set}" has no scene ${unknown.join(", ")}.`);

mkdirSync(OUT, { recursive: true });
for (const s of SET.scenes) if (only.length === 0 || only.includes(s.name)) await make(s);

async function make(s: Scenario): Promise<void> {
  const started = Date.now();
  const folder = resolve(options.work, s.name);
  mkdirSync(folder, { recursive: true });
  const painted = s.unusable?.issue === "no-deck" ? null : await paint(s, Number(options.texel), folder);
  if (!options["keep-render"]) await render(s, folder);
  const view = JSON.parse(readFileSync(join(folder, "view.json"), "utf8")) as { cornersPx: Point[]; balance: number[] };
  const base = join(OUT, s.name);
  await finish(s, join(folder, "raw.png"), view.balance, `${base}.jpg`);
  if (painted) {
    const corners = view.cornersPx.map((px) => px.map((value) => Math.round(value * 100) / 100));
    save(`${base}.corners.json`, { corners });
    save(`${base}.deck.json`, deckFile(s, painted));
  }
  if (painted && !s.unusable) await writeTruth(painted, view.cornersPx, folder, base);
  save(`${base}.about.json`, about(s, painted));
  console.log(`${s.name}: ${((Date.now() - started) / 1000).toFixed(0)} s`, JSON.stringify(painted?.outletEdges ?? []));
}

async function render(s: Scenario, folder: string): Promise<void> {
  const { dense, middling, light } = s.materials;
  const solids = [dense, middling, light, light].flatMap(({ palette }) => palette);
  const slurry = meanColour({ ...light, palette: solids }).map((c) => Math.round(0.8 * c));
  const widthPx = Number(options.width ?? SET!.width);
  for (const { id, sizeMm } of s.marks ?? []) {
    await sharp(Buffer.from(markSvg(id, sizeMm)), { density: 254 })
      .png()
      .toFile(join(folder, `mark-${id}.png`));
  }
  save(join(folder, "scene.json"), {
    ...s,
    ...deckShape(s),
    slurry,
    textureFolder: here("textures"),
    widthPx,
    heightPx: Math.round(widthPx * 0.75),
    samples: Number(options.samples ?? SET!.samples),
  });
  const log = openSync(join(folder, "blender.log"), "w");
  const blender = [
    "blender",
    "-b",
    "--python-exit-code",
    "1",
    "-P",
    here("render.py"),
    "--",
    join(folder, "scene.json"),
  ];
  execFileSync("nice", ["-n", "10", ...blender], { stdio: ["ignore", log, log] });
  closeSync(log);
}

async function writeTruth(painted: Painted, cornersPx: Point[], folder: string, base: string): Promise<void> {
  const { truth, columns, rows, outline } = painted;
  const toPhoto = homography(outline, cornersPx);
  await markUnseen(painted, readFileSync(join(folder, "hidden.bin")), toPhoto, `${base}.jpg`);
  await sharp(Buffer.from(truth), { raw: { width: columns, height: rows, channels: 1 } })
    .toColourspace("b-w")
    .png({ compressionLevel: 9 })
    .toFile(`${base}.truth.png`);
  await checkPicture(painted, toPhoto, `${base}.jpg`, join(folder, "check.jpg"));
}

function about(s: Scenario, painted: Painted | null): unknown {
  return {
    title: s.unusable ? `Unusable: ${s.unusable.because}` : s.title,
    scenario: s.scenario,
    ...(s.unusable && { expectedIssue: s.unusable.issue }),
    made: "rendered",
    renderer: "Blender 3.4 Cycles",
    seed: s.seed,
    licence: "CC0-1.0",
    textures: [s.light.hdri, "ground.jpg", "wood.jpg"].map((file) => ({ file, licence: "CC0-1.0" })),
    ...(painted && { materials: Object.fromEntries(Object.entries(s.materials).map(([kind, m]) => [kind, m.name])) }),
    ...(painted && !s.unusable && { outletEdges: painted.outletEdges, drawnOutletEdges: painted.drawnOutletEdges }),
  };
}

/** JSON with short arrays of numbers or words kept on one line. */
function save(file: string, value: unknown): void {
  const json = JSON.stringify(value, null, 2);
  const onOneLine = (_: string, inner: string) => `[${inner.replace(/\s*\n\s*/g, " ")}]`;
  writeFileSync(file, `${json.replace(/\[\s+([^[\]{}]*?)\s+\]/g, onOneLine)}\n`);
}
