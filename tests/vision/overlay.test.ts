import sharp from "sharp";
import { expect, it } from "vitest";
import { DeckFile, type Reading } from "../../vision/contract/index.ts";
import { ENGLISH, type OverlayWords } from "../../vision/drawing/overlay-words.ts";
import { toPicture } from "../../vision/drawing/picture-frame.ts";
import { overlaySvg } from "../../vision/overlay.ts";
import { type Classes, type Deck, deckPoint } from "../../vision/stages.ts";

/** An invented deck, 1000 × 500 mm, seen straight from above: 1 mm is 1 photo pixel, 200 px in from the photo's corner. */
const file = DeckFile.parse({
  schemaVersion: 1,
  name: 'Deck <1> & "co"',
  lengthMm: 1000,
  widthMm: 500,
  splitters: [{ name: "<b>&", between: ["dense", "middling"], atMm: 200 }],
});
const corners: [number, number][] = [
  [0, 0],
  [1000, 0],
  [1000, 500],
  [0, 500],
];
const deck: Deck = {
  file,
  scale: "deck file",
  hand: "right",
  lengthMm: 1000,
  widthMm: 500,
  outline: corners.map(deckPoint),
  outletPath: corners.slice(1).map(deckPoint),
  feed: { from: deckPoint([40, 0]), to: deckPoint([300, 0]) },
  splitters: file.splitters,
  launders: [],
};
const grid = { mmPerCell: 2, columns: 500, rows: 250 };
/** From the high side: bare, dense, middling, light, 100 mm each; then 100 mm unseen. */
const labels = Uint8Array.from({ length: 500 * 250 }, (_, i) => [1, 2, 3, 4, 0][Math.floor(i / 500 / 50)]!);
const classes: Classes = { grid, labels, confidence: labels, evidenceGrid: grid, evidence: new Float32Array(0) };
const edge = (fromMm: number, toMm: number) => ({ fromMm, toMm, fromErrorMm: 4, toErrorMm: 6 });
const band = { areaMm2: 100_000, meanWidthMm: 100, centreLine: [], edgeBlurMm: 20, confidence: 0.9 };
const reading: Reading = {
  schemaVersion: 1,
  photo: { name: "a.jpg", sha256: "", widthPx: 1400, heightPx: 1000, takenAt: null },
  madeBy: { version: "0", model: "none" },
  scale: "deck file",
  deckState: "running",
  quality: { usable: true, issues: [] },
  view: {
    source: "corners",
    photoToDeck: [1, 0, -200, 0, 1, -200, 0, 0, 1],
    lens: 0,
    errorMm: 2,
    orientationConfidence: 1,
    cornersPx: corners.map(([x, y]) => [x + 200, y + 200]),
  },
  grid,
  cover: { unseen: 0.2, bare: 0.2, dense: 0.2, middling: 0.2, light: 0.2, dry: 0 },
  bands: [
    { ...band, kind: "dense", outlet: [edge(100, 200)] },
    { ...band, kind: "middling", outlet: [edge(200, 300)] },
    { ...band, kind: "light", outlet: [edge(300, 400)] },
  ],
  outletUnseenMm: [[400, 500]],
  dryPatches: [
    {
      areaMm2: 10_000,
      centre: [800, 50],
      outline: [
        [700, 20],
        [900, 20],
        [900, 80],
        [700, 80],
      ],
      confidence: 0.8,
    },
  ],
  rills: [
    {
      path: [
        [100, 20],
        [110, 90],
      ],
      widthMm: 10,
      confidence: 0.7,
    },
  ],
  splitters: [{ name: "<b>&", atMm: 200, suggestedMm: 222, errorMm: 4 }],
  launders: [],
  advice: [],
};
const size = { widthPx: 700, heightPx: 500 };
const svg = overlaySvg({ reading, deck, classes }, size);

const texts = (from: string) => [
  ...from.matchAll(/<text x="([\d.-]+)" y="([\d.-]+)" font-size="([\d.]+)"[^>]*>([^<]*)</g),
];

it("leaves bare deck and the surroundings clear, and tints each band in its own colour", async () => {
  const { data, info } = await sharp(Buffer.from(svg)).ensureAlpha().raw().toBuffer({ resolveWithObject: true });
  expect([info.width, info.height]).toEqual([700, 500]);
  /** Mean colour and alpha of a patch of the deck, mm. */
  const patch = (x0: number, y0: number) => {
    const sums = [0, 0, 0, 0];
    for (let i = 0; i < 40 * 30; i++) {
      const [x, y] = [(x0 + 200) / 2 + (i % 40), (y0 + 200) / 2 + Math.floor(i / 40)];
      for (let c = 0; c < 4; c++) sums[c]! += data[(y * 700 + x) * 4 + c]! / 1200;
    }
    return sums as [number, number, number, number];
  };
  const [bare, dense, middling, light] = [patch(300, 20), patch(100, 120), patch(100, 220), patch(100, 320)];
  expect(bare[3]).toBe(0);
  for (const tinted of [dense, middling, light]) expect(tinted[3]).toBeGreaterThan(70);
  expect(dense[2]).toBeGreaterThan(dense[0]); // blue-violet
  expect(middling[0]).toBeGreaterThan(middling[2] + 80); // orange
  expect(light[2]).toBeGreaterThan(light[0]); // pale cyan
  expect(light[1]).toBeGreaterThan(dense[1] + 60);
  expect(patch(100, 420)[3]).toBeGreaterThan(70); // unseen: greyed
});

it("escapes names from the deck file", () => {
  expect(svg).toContain("&lt;b&gt;&amp; 200 → 222 mm");
  expect(svg).toContain("Bands on Deck &lt;1&gt; &amp; &quot;co&quot;");
  expect(svg).not.toContain("<b>");
});

it("names each band, and the dry patch, and keeps all words inside the picture", () => {
  for (const word of ["DENSE", "MIDDLING", "LIGHT", "DRY"]) expect(svg).toContain(`>${word}<`);
  expect(texts(svg).length).toBeGreaterThan(20);
  for (const [, x, y, fontPx] of texts(svg)) {
    expect(Number(x)).toBeGreaterThan(0);
    expect(Number(x)).toBeLessThan(700);
    expect(Number(y)).toBeGreaterThan(Number(fontPx) * 0.7);
    expect(Number(y)).toBeLessThan(500);
  }
});

it("writes at least 2.1 % of the picture's width high: 8.4 px on a picture 400 px wide", () => {
  for (const [, , , fontPx] of texts(svg)) expect(Number(fontPx)).toBeGreaterThanOrEqual(0.021 * 700);
});

it("shows per cent, never mm, when the deck's size is assumed", () => {
  const assumed = overlaySvg(
    { reading: { ...reading, scale: "assumed" }, deck: { ...deck, scale: "assumed" }, classes },
    size,
  );
  expect(texts(assumed).filter(([, , , , words]) => / mm\b/.test(words!))).toEqual([]);
  expect(assumed).toContain("13.3 → 14.8 %"); // 200 and 222 of 1500 mm
});

it("draws nothing but words for a photo in which no deck was found", () => {
  const none = overlaySvg({ reading: { ...reading, view: null, grid: null, cover: null }, deck, classes: null }, size);
  expect(none).toContain("could not be read");
  expect(none).not.toContain("ruler");
});

it.each([-0.08, 0, 0.12])("goes from deck to picture through a lens term of %d and back", (lens) => {
  const to = toPicture({ ...reading, view: { ...reading.view!, lens } }, { widthPx: 1400, heightPx: 1000 })!;
  for (const [x, y] of [...corners, [500, 250]] as const) {
    const [px, py] = to(x, y);
    // the contract's own direction: lens out of the photo point, then photo to deck
    const r2 = ((px - 700) ** 2 + (py - 500) ** 2) / (700 ** 2 + 500 ** 2);
    expect(700 + (px - 700) * (1 + lens * r2) - 200).toBeCloseTo(x, 6);
    expect(500 + (py - 500) * (1 + lens * r2) - 200).toBeCloseTo(y, 6);
  }
});

it("keeps ruler numbers and splitter words off the arrow that moves a splitter", () => {
  // the deck turned by 26° in the picture, so that number and arrow run at a slant
  const [c, s] = [Math.cos(0.45), Math.sin(0.45)];
  const photoToDeck = [c, -s, 500 - c * 700 + s * 500, s, c, 250 - s * 700 - c * 500, 0, 0, 1];
  const view = { ...reading.view!, photoToDeck };
  const moved = { ...reading, view, splitters: [{ name: "upper", atMm: 130, suggestedMm: 470, errorMm: 4 }] };
  const drawn = overlaySvg({ reading: moved, deck, classes }, size);
  const arrows = [...drawn.matchAll(/<g id="splitters">.*?<\/g>/gs)].flatMap(([group]) =>
    [...group.matchAll(/\sd="(M[^"]*)"/g)].map(([, d]) =>
      [...d!.matchAll(/([\d.-]+)[ ,]([\d.-]+)/g)].map(([, x, y]) => [Number(x), Number(y)] as const),
    ),
  );
  const longest = arrows.reduce((best, line) => (line.length > best.length ? line : best));
  expect(longest.length).toBeGreaterThan(8); // a point each 25 mm
  const along = longest.flatMap(([x, y], i) => {
    const [x1, y1] = longest[Math.min(i + 1, longest.length - 2)]!; // the last point is the arrow head's
    return [0, 0.25, 0.5, 0.75].map((t) => [x + (x1 - x) * t, y + (y1 - y) * t] as const);
  });
  let numbers = 0;
  for (const [, x, y, fontPx, words] of texts(drawn)) {
    if (/^\d+0$/.test(words!)) numbers++;
    const [half, size] = [words!.length * Number(fontPx) * 0.35, Number(fontPx)];
    const hit = along.some(
      ([px, py]) => Math.abs(px - Number(x)) < half + size * 0.1 && py > Number(y) - size * 0.75 && py < Number(y),
    );
    expect(hit, `${words} at ${x}, ${y}`).toBe(false);
  }
  expect(numbers).toBeGreaterThan(4);
  expect(texts(drawn).map(([, , , , words]) => words)).toContain("200"); // between the pointers, inside the arrow
});

it("writes what it is given: every word of the drawing in another language", () => {
  const words = Object.fromEntries(Object.keys(ENGLISH).map((key) => [key, `w-${key}`])) as unknown as OverlayWords;
  const drawn = overlaySvg({ reading, deck, classes }, size, { ...words, language: "en" });
  for (const key of ["dense", "middling", "light", "edge", "splitterNow", "rulerMm", "bandsOn"]) {
    expect(drawn).toContain(`w-${key}`);
  }
  const text = drawn.replace(/<[^>]*>/g, " ").replace(/w-\w+/gi, "");
  expect(text).not.toMatch(/\b(dense|middling|light|dry|edge|splitter|ruler|outlet|patch|seen|bands)\b/i);
});
