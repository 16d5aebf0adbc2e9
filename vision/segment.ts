import * as appearance from "./appearance.ts";
import { flowPrior } from "./flow-prior.ts";
import { keeping } from "./keeping.ts";
import { type FirstLook, planeOn } from "./model/first-look.ts";
import { looksFromTaps, type Naming, nameByModel, nameLooks, tellLooks } from "./naming.ts";
import type { OpenCv } from "./opencv.ts";
import { type Classes, type Deck, type EvenDeck, type Grid, type Notes, photoPoint, type View } from "./stages.ts";
import { boxMean } from "./texture.ts";
import { toDeck } from "./view.ts";

/** Bare, dense, middling, light, dry: plane k − 1 of the evidence holds class k. */
const CLASSES = 5;
/** Solids show where they cover at least this share (the contract's definition of a class). */
const LEAST_COVER = 1 / 3;
/** Half the 20 mm disc that a tap speaks for, mm. */
const DISC_MM = 10;
/** Half the window over which cover is averaged, mm: less than that disc, since the evidence is smooth already. */
const COVER_MM = 6;
/** Above this chance of something before the deck, a cell is not judged; the model must be surer where taps tell what is what. */
const [HIDDEN, HIDDEN_TAPPED] = [0.85, 0.98];
/** A cell's confidence is the model's own chance by this share: the fused evidence alone is surer than it is right (measured on scenes). */
const TOLD_SHARE = 0.65;
/** How often a cell is right that is so sure, 0 to 255 each: less often than its own chance says (from scenes and samples: DEVELOPERS.md). */
const RIGHT = Uint8Array.from({ length: 256 }, (_, sure) => Math.round(255 * (sure / 255) ** 1.15));
/** A cell that could be deck or thin solids counts this much more as deck: looks mix where cover is thin (from the tuning pictures). */
const BARE_FAVOUR = 1.4;

/**
 * Classes of the deck from this photo's own colours and texture; with a learned first look, that says where each class
 * roughly is.
 *
 * The photo's colours fall into a few appearances (k-means in CIELAB and texture); each is named dense, middling, light
 * or bare by where it lies on the deck, in which order it leaves, and by taps and profile; then each cell's classes follow
 * from its looks and from where each class is likely.
 */
export function segment(cv: OpenCv, all: EvenDeck, deck: Deck, view: View, notes: Notes, first?: FirstLook): Classes {
  const { grid } = all.halved;
  const taps = (notes.taps ?? []).flatMap(({ at, class: name }) => {
    const { x, y } = toDeck(view, photoPoint(at));
    const [column, row] = [Math.floor(x / grid.mmPerCell), Math.floor(y / grid.mmPerCell)];
    const onDeck = column >= 0 && row >= 0 && column < grid.columns && row < grid.rows;
    return onDeck ? [{ column, row, class: name }] : [];
  });
  const tapped = tellLooks(taps);
  const even = first ? withoutThings(all, first, tapped ? HIDDEN_TAPPED : HIDDEN, taps) : all;
  const found = appearancesOf(even, cv);
  const prior = fanOf(all, deck);
  const looks = tapped ? looksFromTaps(found, taps) : found;
  const fit = likelihoods(looks);
  const naming =
    first && !tapped
      ? nameByModel(looks, fit, first, prior, taps, notes.profile)
      : nameLooks(looks, tapped, prior, taps, notes.profile);
  const evidence = evidenceOf(looks, naming, fit);
  for (const tap of taps) honour(evidence, grid, tap);
  const told = first && !tapped ? first : null;
  return { grid: even.grid, ...label(evidence, looks.seen, grid, even, told), evidenceGrid: grid, evidence };
}

// what taps leave as it is
const appearancesOf = keeping((even: EvenDeck, cv: OpenCv) => appearance.appearancesOf(cv, even));
const likelihoods = keeping(appearance.likelihoods);
const fanOf = keeping(({ halved }: EvenDeck, deck: Deck) => flowPrior(deck, halved.grid)); // a deck outlives many photos
const hiddenOn = keeping((first: FirstLook, { halved }: EvenDeck) => planeOn(first, CLASSES, halved.grid));
const withoutHidden = keeping(hide);

/**
 * Cells where the model sees something before the deck rather than the deck count as unseen, but not what a tap speaks for; nor
 * the whole of a thing that was itself tapped: who says what shows there says that nothing stands before it.
 */
function withoutThings(even: EvenDeck, first: FirstLook, least: number, taps: readonly TapOnGrid[]): EvenDeck {
  const hidden = hiddenOn(first, even);
  const { grid } = even.halved;
  const tapped = taps.flatMap((tap) => [...cellsAround(tap, grid)]).filter((i) => hidden[i]! > least);
  if (tapped.length === 0) return withoutHidden(even, hidden, least);
  const shown = hidden.slice();
  const waiting = taps.map(({ row, column }) => row * grid.columns + column);
  for (let i = waiting.pop(); i !== undefined; i = waiting.pop()) {
    if (shown[i]! <= least) continue;
    shown[i] = 0;
    const column = i % grid.columns;
    if (column > 0) waiting.push(i - 1);
    if (column < grid.columns - 1) waiting.push(i + 1);
    if (i >= grid.columns) waiting.push(i - grid.columns);
    if (i < shown.length - grid.columns) waiting.push(i + grid.columns);
  }
  for (const i of tapped) shown[i] = 0;
  return hide(even, shown, least);
}

function hide(even: EvenDeck, hidden: Float32Array, least: number): EvenDeck {
  const { grid, halved } = even;
  const seen = even.seen.slice();
  for (let row = 0, i = 0; row < grid.rows; row++) {
    const from = (row >> 1) * halved.grid.columns;
    for (let column = 0; column < grid.columns; column++, i++) if (hidden[from + (column >> 1)]! > least) seen[i] = 0;
  }
  return { ...even, seen, halved: { ...halved, seen: halved.seen.map((is, i) => (hidden[i]! > least ? 0 : is)) } };
}

export interface TapOnGrid {
  readonly column: number;
  readonly row: number;
  readonly class: "bare" | "dense" | "middling" | "light" | "dry";
}
export const CLASS_ORDER = ["bare", "dense", "middling", "light", "dry"] as const;

/**
 * Probability of each class at each cell, `5 × rows × columns`; all zero where nothing is seen: where the class is likely, times how
 * much it looks like what is seen there.
 */
function evidenceOf(
  { grid, seen }: appearance.Appearance,
  { shares, prior }: Naming,
  fit: readonly Float32Array[],
): Float32Array {
  const cells = grid.columns * grid.rows;
  const evidence = new Float32Array(CLASSES * cells);
  const at = new Float64Array(CLASSES);
  for (let i = 0; i < cells; i++) {
    if (!seen[i]) continue;
    let sum = 1e-12;
    for (let k = 0; k < CLASSES; k++) {
      const share = shares[k]!;
      let p = 0;
      for (let c = 0; c < fit.length; c++) p += share[c]! * fit[c]![i]!;
      sum += at[k] = p * prior[k]![i]! * (k === 0 ? BARE_FAVOUR : 1);
    }
    for (let k = 0; k < CLASSES; k++) evidence[k * cells + i] = at[k]! / sum;
  }
  return evidence;
}

/** The model's chance of a class at a place of the bounding box, among the classes. */
function chanceAt({ rows, columns, planes }: FirstLook, label: number, down: number, along: number): number {
  const i = Math.floor(down * rows) * columns + Math.floor(along * columns);
  let sum = 1e-9;
  for (let k = 0; k < CLASSES; k++) sum += planes[k * rows * columns + i]!;
  return planes[(label - 1) * rows * columns + i]! / sum;
}

/** What a person said holds within the disc around the tap. */
function honour(evidence: Float32Array, grid: Grid, tap: TapOnGrid) {
  const cells = grid.columns * grid.rows;
  for (const i of cellsAround(tap, grid)) {
    CLASS_ORDER.forEach((name, k) => {
      evidence[k * cells + i] = name === tap.class ? 1 : 0;
    });
  }
}

/** Cells of the disc that a tap speaks for. */
function* cellsAround({ row, column }: TapOnGrid, { columns, rows, mmPerCell }: Grid) {
  const reach = Math.ceil(DISC_MM / mmPerCell);
  for (let y = Math.max(0, row - reach); y <= Math.min(rows - 1, row + reach); y++)
    for (let x = Math.max(0, column - reach); x <= Math.min(columns - 1, column + reach); x++) yield y * columns + x;
}

/** The contract's class of each 2 mm cell, from cover averaged around it, and how sure it is. */
function label(evidence: Float32Array, seen: Uint8Array, grid: Grid, even: EvenDeck, told: FirstLook | null) {
  const cells = grid.columns * grid.rows;
  const radius = Math.max(1, Math.round((COVER_MM - grid.mmPerCell / 2) / grid.mmPerCell));
  const cover = Array.from({ length: CLASSES }, (_, k) =>
    boxMean(evidence.subarray(k * cells, (k + 1) * cells) as Float32Array, grid.columns, grid.rows, radius, seen),
  );
  const { columns, rows, mmPerCell } = even.grid;
  const labels = new Uint8Array(columns * rows);
  const confidence = new Uint8Array(columns * rows);
  const ratio = mmPerCell / grid.mmPerCell;
  // where each column lies between the evidence's: the one before it, and how far on
  const xs = Float32Array.from({ length: columns }, (_, column) =>
    Math.max(0, Math.min(grid.columns - 1.001, (column + 0.5) * ratio - 0.5)),
  );
  const at = [0, 0, 0, 0, 0];
  for (let row = 0, i = 0; row < rows; row++) {
    const y = Math.max(0, Math.min(grid.rows - 1.001, (row + 0.5) * ratio - 0.5));
    const [top, v] = [Math.floor(y), y - Math.floor(y)];
    const below = top + 1 < grid.rows ? grid.columns : 0;
    for (let column = 0; column < columns; column++, i++) {
      if (!even.seen[i]) continue;
      const left = Math.floor(xs[column]!);
      const u = xs[column]! - left;
      const j = top * grid.columns + left;
      const [w00, w01, w10, w11] = [(1 - v) * (1 - u), (1 - v) * u, v * (1 - u), v * u];
      for (let k = 0; k < CLASSES; k++) {
        const plane = cover[k]!;
        at[k] = w00 * plane[j]! + w01 * plane[j + 1]! + w10 * plane[j + below]! + w11 * plane[j + below + 1]!;
      }
      const [bare, dense, middling, light, dry] = at as [number, number, number, number, number];
      const solids = dense + middling + light;
      const best = Math.max(dense, middling, light);
      if (solids + bare + dry < 0.2) continue;
      const isDry = dry > 0.5;
      const isSolid = !isDry && solids >= LEAST_COVER;
      labels[i] = isDry ? 5 : !isSolid ? 1 : best === dense ? 2 : best === middling ? 3 : 4;
      const sure = isDry
        ? dry
        : isSolid
          ? Math.min(1, (solids / LEAST_COVER - 1) / 2 + 0.5) * (best / solids)
          : Math.min(1, 1.25 - solids / LEAST_COVER / 1.6);
      const fused = Math.max(0, Math.min(1, sure));
      const agreed = told ? chanceAt(told, labels[i]!, (row + 0.5) / rows, (column + 0.5) / columns) : fused;
      confidence[i] = RIGHT[Math.round(255 * (fused + TOLD_SHARE * (agreed - fused)))]!;
    }
  }
  return { labels, confidence };
}
