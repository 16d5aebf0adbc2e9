import { readFileSync } from "node:fs";
import sharp from "sharp";
import { beforeAll, describe, expect, it } from "vitest";
import { CornersFile, DeckFile, TapsFile } from "../../vision/contract/index.ts";
import type { Classes, Photo } from "../../vision/stages.ts";

/**
 * Real wet sand read end to end and compared with places where a person saw the sand change. Photos, points and their
 * repeatability: sample-images/real/README.md. Differences are in deck mm; reading and points share the corners, so
 * the scale's own error does not enter.
 */
const FOLDER = new URL("../../sample-images/real/", import.meta.url);
const CLASS_NAMES = ["unseen", "bare", "dense", "middling", "light", "dry"] as const;
type Pair = [number, number];
interface HandPoint {
  id: number;
  from: string;
  to: string;
  clear: boolean;
  /** Direction on the deck in which the edge was sought: `from` before it, `to` after it. */
  along: Pair;
  outletMm: number | null;
  deckMm: Pair;
  photoPx: Pair;
  firstMm: Pair;
  secondMm: Pair;
}

/** Most that the median difference may be, mm, clear edges only. */
const LIMITS_MM = {
  // two of its four clear edges at the outlet are lost: the ordered labelling there expects one band of each class
  "sand-hill": { outlet: 135, boundary: 7 },
  "sand-fault": { outlet: 45, boundary: 11 },
  "sand-slant": { outlet: 15, boundary: 9 },
} as const;
const NAMES = Object.keys(LIMITS_MM) as (keyof typeof LIMITS_MM)[];

const json = (name: string) => JSON.parse(readFileSync(new URL(name, FOLDER), "utf8"));
const pointsOf = (name: string): HandPoint[] => json(`${name}.points.json`).points;

describe.each(NAMES)("hand points of %s", (name) => {
  const points = pointsOf(name);
  const deck = DeckFile.parse(json(`${name}.deck.json`));
  const { corners } = CornersFile.parse(json(`${name}.corners.json`));

  it("repeat as well as the about file says", () => {
    const said = json(`${name}.about.json`).points.repeatability;
    const gaps = points.map((p) => Math.hypot(p.firstMm[0] - p.secondMm[0], p.firstMm[1] - p.secondMm[1]));
    expect(gaps).toHaveLength(said.points);
    expect(rms(gaps)).toBeCloseTo(said.rmsDifferenceMm, 1);
    expect(Math.abs(quantile(gaps, 0.5) - said.medianMm)).toBeLessThan(0.1); // points are stored to 0.1 mm
    expect(Math.abs(quantile(gaps, 0.95) - said.percentile95Mm)).toBeLessThan(0.15);
  });

  it("say the same place in photo pixels and deck mm", () => {
    // These decks are parallelograms in their photos, so three corners fix the map; the others were checked with it.
    const [o, a, b] = [deck.outline![0]!, deck.outline![1]!, deck.outline!.at(-1)!];
    const [po, pa, pb] = [corners[0]!, corners[1]!, corners.at(-1)!];
    for (const { deckMm, photoPx } of points) {
      const u = (deckMm[0] - o[0]) / (a[0] - o[0]);
      const v = (deckMm[1] - o[1]) / (b[1] - o[1]);
      for (const axis of [0, 1] as const) {
        const expected = po[axis] + u * (pa[axis] - po[axis]) + v * (pb[axis] - po[axis]);
        expect(Math.abs(photoPx[axis] - expected)).toBeLessThan(0.25);
      }
    }
  });

  it("have different sands on their two sides, and 6 to 12 taps", () => {
    for (const point of points) expect(point.from).not.toBe(point.to);
    const { taps } = TapsFile.parse(json(`${name}.taps.json`));
    expect(taps.length).toBeGreaterThanOrEqual(6);
    expect(taps.length).toBeLessThanOrEqual(12);
  });
});

describe("reading real photos", () => {
  let vision: typeof import("../../vision/index.ts");
  let engines: import("../../vision/index.ts").Engines;
  beforeAll(async () => {
    vision = await import("../../vision/index.ts");
    const { openEyes } = await import("../../server/eyes.ts");
    engines = { ...(await vision.loadOpenCv()), eyes: await openEyes() };
  });

  const read = async (name: string, withDeck: boolean) => {
    const job = {
      deck: vision.describeDeck(withDeck ? json(`${name}.deck.json`) : null),
      corners: CornersFile.parse(json(`${name}.corners.json`)),
      notes: TapsFile.parse(json(`${name}.taps.json`)),
      source: { name: `${name}.jpg`, sha256: "0".repeat(64), takenAt: null },
    };
    return vision.analyse(engines, await decode(`${name}.jpg`), job);
  };

  it.each(NAMES)("finds the edges of %s where a person sees them", async (name) => {
    const { reading, classes } = await read(name, true);
    const points = pointsOf(name);
    expect(reading.quality.usable, JSON.stringify(reading.quality.issues)).toBe(true);

    const outlet = points.filter((p) => p.outletMm !== null);
    const outletErrors = outlet.map((p) => outletDifference(reading.bands, p));
    const boundaryErrors = points.map((p) => (classes ? boundaryDifference(classes, p) : null));
    report(`${name}, outlet edges`, outlet, outletErrors);
    report(`${name}, class boundaries`, points, boundaryErrors);
    expect(medianOfClear(outlet, outletErrors)).toBeLessThanOrEqual(LIMITS_MM[name].outlet);
    expect(medianOfClear(points, boundaryErrors)).toBeLessThanOrEqual(LIMITS_MM[name].boundary);
    // nothing stands before these; the glass's rims reflect
    expect(reading.cover!.unseen).toBeLessThan(0.12);
  });

  it("does not stumble over gloss and a scene without bands", async () => {
    const { reading } = await read("wet-pebbles", false);
    expect(reading.scale).toBe("assumed");
    console.log("wet-pebbles:", JSON.stringify(reading.quality), JSON.stringify(reading.cover));
  });
});

/** mm from a hand point to the nearest end of a band of either class at the outlet; null where there is none. */
function outletDifference(
  bands: readonly { kind: string; outlet: readonly { fromMm: number; toMm: number }[] }[],
  { from, to, outletMm }: HandPoint,
): number | null {
  const ends = bands.flatMap(({ kind, outlet }) =>
    outlet.flatMap(({ fromMm, toMm }) => [...(kind === from ? [toMm] : []), ...(kind === to ? [fromMm] : [])]),
  );
  return ends.map((end) => end - outletMm!).sort((a, b) => Math.abs(a) - Math.abs(b))[0] ?? null;
}

const REACH_MM = 40;
/**
 * mm along the point's line from the point to where the classes best change over from one to the other, sought 40 mm
 * either way on three lines 4 mm apart; null where less than 6 in 10 cells then have the right class.
 */
function boundaryDifference({ grid, labels }: Classes, { from, to, along, deckMm }: HandPoint): number | null {
  const steps: { before: number; after: number; all: number }[] = [];
  for (let s = -REACH_MM; s < REACH_MM; s++) {
    const step = { before: 0, after: 0, all: 0 };
    for (const aside of [-4, 0, 4]) {
      const x = deckMm[0] + along[0] * (s + 0.5) - along[1] * aside;
      const y = deckMm[1] + along[1] * (s + 0.5) + along[0] * aside;
      const column = Math.floor(x / grid.mmPerCell);
      const row = Math.floor(y / grid.mmPerCell);
      if (column < 0 || row < 0 || column >= grid.columns || row >= grid.rows) continue;
      const seen = CLASS_NAMES[labels[row * grid.columns + column]!];
      if (seen === "unseen") continue;
      step.all++;
      if (seen === from) step.before++;
      if (seen === to) step.after++;
    }
    steps.push(step);
  }
  const all = steps.reduce((sum, { all }) => sum + all, 0);
  let right = steps.reduce((sum, { after }) => sum + after, 0);
  let best = { right: -1, first: 0, last: 0 };
  for (let k = 0; k <= steps.length; k++) {
    const at = k - REACH_MM;
    if (right > best.right) best = { right, first: at, last: at };
    else if (right === best.right) best.last = at;
    right += (steps[k]?.before ?? 0) - (steps[k]?.after ?? 0);
  }
  return best.right < 0.6 * all ? null : (best.first + best.last) / 2;
}

/** Median size of the differences at clear edges; one not found counts as the whole reach. */
const medianOfClear = (points: readonly HandPoint[], errors: readonly (number | null)[]) =>
  quantile(
    errors.filter((_, i) => points[i]!.clear).map((error) => Math.abs(error ?? REACH_MM)),
    0.5,
  );

function report(title: string, points: readonly HandPoint[], errors: readonly (number | null)[]) {
  const each = points.map(
    (p, i) => `${p.id}${p.clear ? "" : "~"} ${p.from}→${p.to} ${errors[i]?.toFixed(1) ?? "none"}`,
  );
  const found = errors.filter((error) => error !== null).map(Math.abs);
  const figures = found.length
    ? `median ${quantile(found, 0.5).toFixed(1)}, 95th percentile ${quantile(found, 0.95).toFixed(1)} mm`
    : "none found";
  console.log(`${title}: ${figures}; ${found.length} of ${errors.length} found\n  ${each.join("; ")}`);
}

async function decode(name: string): Promise<Photo> {
  const { data, info } = await sharp(readFileSync(new URL(name, FOLDER)))
    .ensureAlpha()
    .raw()
    .toBuffer({ resolveWithObject: true });
  return { width: info.width, height: info.height, rgba: new Uint8ClampedArray(data) };
}

const rms = (values: readonly number[]) => Math.sqrt(values.reduce((sum, v) => sum + v * v, 0) / values.length);

function quantile(values: readonly number[], share: number): number {
  const sorted = [...values].sort((a, b) => a - b);
  const at = share * (sorted.length - 1);
  const low = Math.floor(at);
  return sorted[low]! + (at - low) * ((sorted[low + 1] ?? sorted[low]!) - sorted[low]!);
}
