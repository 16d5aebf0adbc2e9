import { encode } from "fast-png";
import { expect, it } from "vitest";
import type { DeckFileInput, Reading } from "../../vision/contract/index.ts";
import { drawFlat, tryPlaces } from "../../web/flat-deck.ts";
import { outletLine } from "../../web/outlet-line.ts";

/** Splitters tried on a reading, and its drawing on the flat deck; numbers worked out by hand. */

const DECK: DeckFileInput = {
  schemaVersion: 1,
  lengthMm: 1000,
  widthMm: 500,
  splitters: [
    { name: "upper", between: ["dense", "middling"], atMm: 200 },
    { name: "lower", between: ["middling", "light"], atMm: 700, minMm: 300, maxMm: 1200, stepMm: 10 },
  ],
};
const band = (kind: "dense" | "middling" | "light", fromMm: number, toMm: number, errorMm: number) => ({
  kind,
  areaMm2: 1,
  meanWidthMm: 1,
  outlet: [{ fromMm, toMm, fromErrorMm: errorMm, toErrorMm: errorMm }],
  centreLine: [],
  edgeBlurMm: null,
  confidence: 0.9,
});
/** A reading with dense from 100 to 300 mm, each edge ± 10 mm, and light from 800 to 1000 mm, sure. */
const READING = {
  photo: { name: "a.jpg", sha256: "", widthPx: 800, heightPx: 600, takenAt: null },
  scale: "deck file",
  view: { source: "corners", photoToDeck: [], lens: 0.1, errorMm: 1, orientationConfidence: 1, cornersPx: [] },
  grid: { mmPerCell: 2, columns: 500, rows: 250 },
  cover: { unseen: 0, bare: 0.5, dense: 0.5, middling: 0, light: 0, dry: 0 },
  bands: [band("dense", 100, 300, 10), band("light", 800, 1000, 0)],
  outletUnseenMm: [],
  dryPatches: [],
  rills: [],
  splitters: [
    { name: "upper", atMm: 200, suggestedMm: 300, errorMm: 5 },
    { name: "lower", atMm: 700, suggestedMm: null, errorMm: null },
  ],
} as unknown as Reading;
const LOOK = { reading: READING, request: { photo: "", corners: null, deck: DECK } };

it("halves a band at its middle, with the error that its edges give", () => {
  const [a, b, c] = tryPlaces(LOOK, [200, 700]);
  expect(a!.carried.dense.share).toBeCloseTo(0.5, 6);
  expect(b!.carried.dense.share).toBeCloseTo(0.5, 6);
  expect(c!.carried).toMatchObject({ dense: { share: 0, error: 0 }, light: { share: 1, error: 0 } });
  // one edge z standard errors of 10 mm off: (100 − 10 z) / (200 − 10 z) instead of a half; its mean square under the normal law, for both edges
  let square = 0;
  for (let z = -6; z <= 6; z += 0.001) {
    const law = Math.exp((-z * z) / 2) / Math.sqrt(2 * Math.PI);
    square += 0.001 * law * ((100 - 10 * z) / (200 - 10 * z) - 0.5) ** 2;
  }
  expect(a!.carried.dense.error).toBeCloseTo(Math.sqrt(2 * square), 6);
});

it.each([
  ["in a band", 240, 0.05],
  ["in the gap beside it, 17 mm past an edge known to 10 mm", 317, 0.1],
])("agrees with edges thrown at random 20 000 times: a splitter %s", (_, at, within) => {
  let seed = 1;
  const even = () => {
    seed = (seed * 48271) % 2147483647; // Park & Miller (1988), Commun. ACM 31, 1192
    return seed / 2147483647;
  };
  const normal = () => Math.sqrt(-2 * Math.log(even())) * Math.cos(2 * Math.PI * even()); // Box & Muller (1958)
  const shares = Array.from({ length: 20_000 }, () => {
    const [from, to] = [100 + 10 * normal(), 300 + 10 * normal()];
    return Math.min(1, (at - from) / (to - from));
  });
  const { share, error } = tryPlaces(LOOK, [at, 700])[0]!.carried.dense;
  const off = Math.sqrt(shares.reduce((sum, s) => sum + (s - share) ** 2, 0) / shares.length);
  expect(error / off).toBeGreaterThan(1 - within);
  expect(error / off).toBeLessThan(1 + within);
});

it("moves launders of the deck file's own along with the splitter they end at", () => {
  const launders = [
    { name: "box", product: "dense" as const, fromMm: 0, toMm: 200 },
    { name: "drain", product: "light" as const, fromMm: 200, toMm: 1500 },
  ];
  const tried = tryPlaces({ ...LOOK, request: { ...LOOK.request, deck: { ...DECK, launders } } }, [250, 700]);
  expect(tried.map(({ name, fromMm, toMm }) => [name, fromMm, toMm])).toEqual([
    ["box", 0, 250],
    ["drain", 250, 1500],
  ]);
  expect(tried[0]!.carried.dense.share).toBeCloseTo(0.75, 6);
});

it("draws the bands where they are on the deck, whatever the photo's view was", () => {
  const labels = new Uint8Array(500 * 250);
  for (let row = 50; row < 150; row++) labels.fill(2, row * 500 + 250, row * 500 + 500); // x 500–1000, y 100–300 mm
  const { svg, splitters } = drawFlat(LOOK, encode({ width: 500, height: 250, data: labels, channels: 1, depth: 8 }));
  expect(svg).toContain('viewBox="0 0 1600 800"');
  const path = /<g id="area-dense"><path d="([^"]*)"/.exec(svg)![1]!;
  const xs = [...path.matchAll(/(-?[\d.]+) (-?[\d.]+)/g)].map(
    ([, x, y]) => [Number(x) / 1.6, Number(y) / 1.6] as const,
  );
  const near = (value: number, wanted: number) => expect(Math.abs(value - wanted)).toBeLessThan(12); // drawn in 6 mm blocks
  near(Math.min(...xs.map(([x]) => x)), 500);
  near(Math.max(...xs.map(([x]) => x)), 1000);
  near(Math.min(...xs.map(([, y]) => y)), 100);
  near(Math.max(...xs.map(([, y]) => y)), 300);
  expect(splitters).toEqual([
    { name: "upper", atMm: 200, suggestedMm: 300, minMm: 0, maxMm: 1500, stepMm: 5, movable: true },
    { name: "lower", atMm: 700, suggestedMm: null, minMm: 300, maxMm: 1200, stepMm: 10, movable: true },
  ]);
});

it("knows places along a bent outlet, and which way is off the deck", () => {
  const path = [[1000, 0] as const, [1000, 500] as const, [0, 500] as const];
  const line = outletLine(path, [500, 250]);
  expect(line.lengthMm).toBe(1500);
  expect(line.place(200)).toEqual({ at: [1000, 200], off: [1, -0] });
  expect(line.place(700)).toEqual({ at: [800, 500], off: [0, 1] });
  expect(line.place(9999).at).toEqual([0, 500]);
  expect(line.nearest([1300, 210])).toBe(210);
  expect(line.nearest([790, 900])).toBe(710);
});
