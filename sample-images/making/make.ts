/**
 * Makes the pictures: paint the deck, render it, finish it as a phone photo, and write the truth beside it.
 *
 *   npx tsx make.ts --set samples|tuning --out DIR [--work DIR] [--only NAME,NAME] [--width 2000] [--samples 36] [--texel 1]
 *
 * Needs Blender 3.4 or later on the path. The work folder (by default in the system's temporary folder) keeps the
 * painted maps, the raw render and a check picture; `--keep-render` finishes again from the render already there.
 */
import { execFileSync } from "node:child_process";
import { closeSync, mkdirSync, openSync, readFileSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { dirname, join, resolve } from "node:path";
import { fileURLToPath } from "node:url";
import sharp from "sharp";
import { CELL_MM, CLASS, deckShape, type Painted, paint } from "./paint";
import { type Point, SAMPLES, type Scenario, TUNING } from "./scenarios";

const HERE = dirname(fileURLToPath(import.meta.url));
const option = (name: string, fallback: string): string => {
  const i = process.argv.indexOf(`--${name}`);
  return i < 0 ? fallback : process.argv[i + 1]!;
};
const isTuning = option("set", "samples") === "tuning";
const OUT = resolve(option("out", join(HERE, "..")));
const WORK = resolve(option("work", join(tmpdir(), "deck-work")));
const WIDTH = Number(option("width", isTuning ? "1400" : "2000"));
const SAMPLES_PER_PIXEL = Number(option("samples", isTuning ? "44" : "36"));
const TEXEL_MM = Number(option("texel", "1"));
const SATURATION = 0.77; // Filmic's contrast look makes colours too rich for a phone photo
const HEADROOM = 1.07; // the brightest glare clips, as in a phone photo
const only = option("only", "").split(",").filter(Boolean);

/** The map from deck mm to photo pixels that the corners give. */
function homography(from: Point[], to: Point[]): number[] {
  // Least squares over all corners: normal equations of the usual eight unknowns, in scaled units.
  const scale = 1 / 1000;
  const a: number[][] = [],
    b: number[] = [];
  from.forEach(([x0, y0], i) => {
    const x = x0 * scale,
      y = y0 * scale,
      u = to[i]![0] * scale,
      v = to[i]![1] * scale;
    a.push([x, y, 1, 0, 0, 0, -u * x, -u * y], [0, 0, 0, x, y, 1, -v * x, -v * y]);
    b.push(u, v);
  });
  const m = Array.from({ length: 8 }, (_, r) => [
    ...Array.from({ length: 8 }, (_, c) => a.reduce((sum, row) => sum + row[r]! * row[c]!, 0)),
    a.reduce((sum, row, k) => sum + row[r]! * b[k]!, 0),
  ]);
  for (let p = 0; p < 8; p++) {
    let best = p;
    for (let r = p; r < 8; r++) if (Math.abs(m[r]![p]!) > Math.abs(m[best]![p]!)) best = r;
    [m[p], m[best]] = [m[best]!, m[p]!];
    for (let r = 0; r < 8; r++)
      if (r !== p) {
        const f = m[r]![p]! / m[p]![p]!;
        for (let c = p; c < 9; c++) m[r]![c]! -= f * m[p]![c]!;
      }
  }
  return [...m.map((row, r) => row[8]! / row[r]!), 1];
}
function project(h: number[], [x0, y0]: Point): Point {
  const x = x0 / 1000,
    y = y0 / 1000,
    w = h[6]! * x + h[7]! * y + 1;
  return [(1000 * (h[0]! * x + h[1]! * y + h[2]!)) / w, (1000 * (h[3]! * x + h[4]! * y + h[5]!)) / w];
}

/** Raw render to phone photo: white balance, vignette, softness, sensor noise, sharpening, JPEG. */
async function finish(s: Scenario, folder: string, balance: number[], file: string): Promise<void> {
  const { data, info } = await sharp(join(folder, "raw.png"))
    .blur(0.3 + s.photo.blur * 0.5)
    .removeAlpha()
    .toColourspace("rgb16")
    .raw({ depth: "ushort" })
    .toBuffer({ resolveWithObject: true });
  const raw = new Uint16Array(data.buffer, data.byteOffset, data.length / 2);
  const smooth = await sharp(join(folder, "raw.png"))
    .blur(1.4)
    .removeAlpha()
    .toColourspace("rgb16")
    .raw({ depth: "ushort" })
    .toBuffer();
  const chroma = new Uint16Array(smooth.buffer, smooth.byteOffset, smooth.length / 2); // phones smear colour noise, not light and dark
  const { width, height } = info,
    out = Buffer.alloc(width * height * 3);
  const gain = balance.map((b, c) => b ** (-0.6 / 2.2) * (1 + s.photo.warmth * [1, 0.1, -1][c]!)); // 60 % of the way to grey, on display values
  let state = (s.seed * 2654435761) >>> 0;
  const random = (): number => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    return state / 4294967296;
  };
  const gauss = (): number => (random() + random() + random() + random() - 2) * 1.73;
  for (let j = 0; j < height; j++)
    for (let i = 0; i < width; i++) {
      const r2 = (((i - width / 2) ** 2 + (j - height / 2) ** 2) / (width ** 2 + height ** 2)) * 4;
      const shade = 1 - s.photo.vignette * r2,
        luma = gauss();
      const at = (j * width + i) * 3,
        grey = (raw[at]! + 2 * raw[at + 1]! + raw[at + 2]!) / 4;
      const smoothGrey = (chroma[at]! + 2 * chroma[at + 1]! + chroma[at + 2]!) / 4;
      for (let c = 0; c < 3; c++) {
        const v =
          Math.min(255, ((grey + (chroma[at + c]! - smoothGrey) * SATURATION) / 257) * gain[c]! * HEADROOM) * shade;
        const sigma = s.photo.noise * 0.6 * (0.9 + 1.3 * Math.sqrt(Math.max(0, 1 - v / 255)));
        out[at + c] = Math.max(0, Math.min(255, v + sigma * (0.8 * luma + 0.6 * gauss())));
      }
    }
  await sharp(out, { raw: { width, height, channels: 3 } })
    .sharpen({ sigma: 0.9, m1: 0.5, m2: 1.4 })
    .withExif({
      IFD0: {
        Software: "deckbands sample maker",
        ImageDescription: s.title,
        Copyright: "CC0-1.0",
        DateTime: s.photo.date,
      },
    })
    .jpeg({ quality: s.photo.quality, chromaSubsampling: "4:2:0", mozjpeg: true })
    .toFile(file);
}

/** Cells hidden from the camera, out of the picture or burnt out become unseen. */
async function markUnseen(painted: Painted, hidden: Uint8Array, toPhoto: number[], photo: string): Promise<void> {
  const { data, info } = await sharp(photo).blur(2).removeAlpha().raw().toBuffer({ resolveWithObject: true });
  for (let n = 0; n < painted.truth.length; n++) {
    const [px, py] = project(toPhoto, [
      ((n % painted.columns) + 0.5) * CELL_MM,
      (Math.floor(n / painted.columns) + 0.5) * CELL_MM,
    ]);
    const ix = Math.floor(px),
      iy = Math.floor(py);
    const outside = ix < 0 || iy < 0 || ix >= info.width || iy >= info.height;
    const at = (iy * info.width + ix) * 3;
    if (outside || hidden[n] === 1 || Math.min(data[at]!, data[at + 1]!, data[at + 2]!) >= 249)
      painted.truth[n] = CLASS.unseen;
  }
}

/** The photo laid flat on the deck grid with the truth's borders drawn in: to be looked at. */
async function checkPicture(painted: Painted, toPhoto: number[], photo: string, file: string): Promise<void> {
  const { data, info } = await sharp(photo).removeAlpha().raw().toBuffer({ resolveWithObject: true });
  const { columns, rows, truth } = painted,
    flat = Buffer.alloc(columns * rows * 3),
    tinted = Buffer.alloc(columns * rows * 3);
  const tint = [
    [0, 0, 0],
    [90, 160, 255],
    [255, 40, 40],
    [255, 200, 0],
    [40, 220, 80],
    [255, 0, 255],
  ];
  for (let n = 0; n < truth.length; n++) {
    const i = n % columns,
      j = Math.floor(n / columns);
    const [px, py] = project(toPhoto, [(i + 0.5) * CELL_MM, (j + 0.5) * CELL_MM]);
    const at =
      (Math.max(0, Math.min(info.height - 1, Math.floor(py))) * info.width +
        Math.max(0, Math.min(info.width - 1, Math.floor(px)))) *
      3;
    const isBorder =
      (i + 1 < columns && truth[n] !== truth[n + 1]) || (j + 1 < rows && truth[n] !== truth[n + columns]);
    for (let c = 0; c < 3; c++) {
      flat[n * 3 + c] = data[at + c]!;
      tinted[n * 3 + c] = isBorder ? tint[truth[n]!]![c]! : 0.82 * data[at + c]! + 0.18 * tint[truth[n]!]![c]!;
    }
  }
  const picture = (buffer: Buffer): Promise<Buffer> =>
    sharp(buffer, { raw: { width: columns, height: rows, channels: 3 } })
      .png()
      .toBuffer();
  await sharp({ create: { width: columns, height: rows * 2 + 8, channels: 3, background: "white" } })
    .composite([
      { input: await picture(flat), left: 0, top: 0 },
      { input: await picture(tinted), left: 0, top: rows + 8 },
    ])
    .jpeg({ quality: 90 })
    .toFile(file);
}

function deckFile(s: Scenario, painted: Painted): unknown {
  const {
    lengthMm: L,
    widthMm: W,
    riffleEndMm: [high, low],
    riffle,
  } = s.deck;
  const pathMm = painted.outletPath
    .slice(1)
    .reduce((sum, [x, y], i) => sum + Math.hypot(x - painted.outletPath[i]![0], y - painted.outletPath[i]![1]), 0);
  const total = Math.round(pathMm * 10) / 10,
    [upper, lower] = s.splittersMm,
    first = riffle.firstMm;
  const right = painted.outline.slice(1, -1); // the outline without the two drive-end corners
  return {
    schemaVersion: 1,
    name: `${s.title} (invented deck)`,
    hand: s.hand,
    lengthMm: L,
    widthMm: W,
    outline: painted.outline,
    riffled: [
      [0, first],
      [high, first],
      [low, W],
      [0, W],
    ],
    smoothZones: [[[high, first], [L, first], ...right.slice(1), [low, W]]],
    outletPath: painted.outletPath,
    feedBox: [
      [s.feedMm[0], 0],
      [s.feedMm[1], 0],
    ],
    washPipes: [
      [
        [s.feedMm[1] + 24, 0],
        [L - 10, 0],
      ],
    ],
    splitters: [
      {
        name: "upper",
        between: ["dense", "middling"],
        atMm: upper,
        minMm: 40,
        maxMm: W - 50,
        stepMm: 5,
        movable: true,
      },
      {
        name: "lower",
        between: ["middling", "light"],
        atMm: lower,
        minMm: 150,
        maxMm: Math.floor(total) - 100,
        stepMm: 5,
        movable: true,
      },
    ],
    launders: [
      { name: "A", product: "dense", fromMm: 0, toMm: upper },
      { name: "B", product: "middling", fromMm: upper, toMm: lower },
      { name: "C", product: "light", fromMm: lower, toMm: total },
    ],
    controls: {
      splitters: true,
      washWater: true,
      feedWater: true,
      feedRate: true,
      crossSlope: true,
      endSlope: false,
      stroke: false,
      speed: false,
    },
    setPoints: { crossSlopeMmPerM: s.deck.crossSlopeMmPerM },
  };
}

/** JSON with short arrays of numbers or words kept on one line. */
const save = (file: string, value: unknown): void =>
  writeFileSync(
    file,
    `${JSON.stringify(value, null, 2).replace(/\[\s+([^[\]{}]*?)\s+\]/g, (_, inner: string) => `[${inner.replace(/\s*\n\s*/g, " ")}]`)}\n`,
  );

async function make(s: Scenario): Promise<void> {
  const started = Date.now(),
    folder = join(WORK, s.name);
  mkdirSync(folder, { recursive: true });
  const painted = await paint(s, TEXEL_MM, folder);
  const paintedAt = Date.now();
  const mix = [s.materials.dense, s.materials.middling, s.materials.light, s.materials.light].flatMap((m) => m.palette);
  const slurry = [0, 1, 2].map((c) =>
    Math.round(
      (0.8 * mix.reduce((sum, [rgb, share]) => sum + rgb[c]! * share, 0)) /
        mix.reduce((sum, [, share]) => sum + share, 0),
    ),
  );
  save(join(folder, "scene.json"), {
    ...s,
    ...deckShape(s),
    slurry,
    textureFolder: join(HERE, "textures"),
    widthPx: WIDTH,
    heightPx: Math.round(WIDTH * 0.75),
    samples: SAMPLES_PER_PIXEL,
  });
  if (!process.argv.includes("--keep-render")) {
    const log = openSync(join(folder, "blender.log"), "w");
    execFileSync(
      "nice",
      [
        "-n",
        "10",
        "blender",
        "-b",
        "--python-exit-code",
        "1",
        "-P",
        join(HERE, "render.py"),
        "--",
        join(folder, "scene.json"),
      ],
      { stdio: ["ignore", log, log] },
    );
    closeSync(log);
  }
  const view = JSON.parse(readFileSync(join(folder, "view.json"), "utf8")) as { cornersPx: Point[]; balance: number[] };
  const base = join(OUT, s.name),
    photo = `${base}.jpg`;
  await finish(s, folder, view.balance, photo);
  const toPhoto = homography(painted.outline, view.cornersPx);
  await markUnseen(painted, readFileSync(join(folder, "hidden.bin")), toPhoto, photo);
  await sharp(Buffer.from(painted.truth), { raw: { width: painted.columns, height: painted.rows, channels: 1 } })
    .toColourspace("b-w")
    .png({ compressionLevel: 9 })
    .toFile(`${base}.truth.png`);
  save(`${base}.corners.json`, {
    corners: view.cornersPx.map(([x, y]) => [Math.round(x * 100) / 100, Math.round(y * 100) / 100]),
  });
  save(`${base}.deck.json`, deckFile(s, painted));
  save(`${base}.about.json`, {
    title: s.title,
    scenario: s.scenario,
    made: "rendered",
    renderer: "Blender 3.4 Cycles",
    seed: s.seed,
    licence: "CC0-1.0",
    textures: [
      { file: s.light.hdri, licence: "CC0-1.0" },
      { file: "ground.jpg", licence: "CC0-1.0" },
      { file: "wood.jpg", licence: "CC0-1.0" },
    ],
    materials: Object.fromEntries(Object.entries(s.materials).map(([kind, m]) => [kind, m.name])),
    outletEdges: painted.outletEdges,
    drawnOutletEdges: painted.drawnOutletEdges,
  });
  await checkPicture(painted, toPhoto, photo, join(folder, "check.jpg"));
  const share = [0, 1, 2, 3, 4, 5].map((k) =>
    (painted.truth.reduce((sum, v) => sum + (v === k ? 1 : 0), 0) / painted.truth.length).toFixed(3),
  );
  console.log(
    s.name,
    "paint s",
    ((paintedAt - started) / 1000).toFixed(0),
    "all s",
    ((Date.now() - started) / 1000).toFixed(0),
    "shares",
    share.join(" "),
    JSON.stringify(painted.outletEdges),
  );
}

mkdirSync(OUT, { recursive: true });
for (const s of isTuning ? TUNING : SAMPLES) if (only.length === 0 || only.includes(s.name)) await make(s);
