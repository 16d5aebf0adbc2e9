import { decode } from "fast-png";
import type { Product, Reading } from "../vision/contract/index.ts";
import {
  type Classes,
  type Deck,
  describeDeck,
  launderShares,
  type Outlet,
  type OverlayWords,
  overlaySvg,
} from "../vision/index.ts";
import type { Look } from "./read-photo.ts";

/** A reading drawn on the flat deck, and what launders would carry with splitters elsewhere. Runs in the reader's worker. */

/** The drawing's longer side, pixels. */
const DRAWN_PX = 1600;

/** A splitter as it may be moved along the outlet, mm. */
export interface SplitterRange {
  readonly name: string;
  readonly atMm: number;
  readonly suggestedMm: number | null;
  readonly minMm: number;
  readonly maxMm: number;
  readonly stepMm: number;
  readonly movable: boolean;
}
/** The deck as it is drawn, in deck mm. */
export interface FlatDrawing {
  /** SVG of bands, outline, edges and dry patches, its view box the deck's length by its width, scaled; with its own ruler and words. */
  readonly svg: string;
  readonly lengthMm: number;
  readonly widthMm: number;
  readonly outletPath: readonly (readonly [number, number])[];
  /** In the order of the reading's. */
  readonly splitters: readonly SplitterRange[];
}
/** Share of each class's outlet length that falls into a launder, with one standard error. */
export interface LaunderContent {
  readonly name: string;
  readonly product: Product;
  readonly fromMm: number;
  readonly toMm: number;
  readonly carried: Readonly<Record<Product, { readonly share: number; readonly error: number }>>;
}

/** Keys move a splitter by this where the deck file names no step, mm. */
const STEP_MM = 5;

/**
 * What was read, drawn on the deck laid flat by the same hand as on the photo: its view is then a mere scale.
 *
 * @param classesPng  Class of each cell, 8-bit grey, row 0 at y = 0.
 */
export function drawFlat(look: Look, classesPng: Uint8Array): FlatDrawing {
  const { reading, request } = look;
  const deck = describeDeck(request.deck ?? null);
  const { lengthMm, widthMm } = deck;
  const { svg } = drawnOn(look, deck, classesPng, NO_ROOM);
  const outletPath = deck.outletPath.map(({ x, y }): [number, number] => [x, y]);
  const outletMm = lengthOf(deck);
  const splitters = deck.splitters.map(({ name, atMm, minMm = 0, maxMm = outletMm, stepMm = STEP_MM, movable }, i) => ({
    name,
    atMm,
    suggestedMm: reading.splitters[i]?.suggestedMm ?? null,
    minMm,
    maxMm: Math.min(maxMm, outletMm),
    stepMm,
    movable,
  }));
  return { svg, lengthMm, widthMm, outletPath, splitters };
}

/** The deck laid flat with its ruler and splitters round it, to be printed. */
export interface FlatSheet {
  readonly svg: string;
  readonly widthPx: number;
  readonly heightPx: number;
  /** Where the deck's own picture lies below it, pixels. */
  readonly deck: { readonly x: number; readonly y: number; readonly width: number; readonly height: number };
}
export const drawFlatSheet = (look: Look, classesPng: Uint8Array, words: OverlayWords): FlatSheet =>
  drawnOn(look, describeDeck(look.request.deck ?? null), classesPng, ROOM_PX, words);

/** Room round the deck for ruler and splitters, pixels; product leaves at the end and the low side. */
const ROOM_PX = { before: 50, after: 250 };
const NO_ROOM = { before: 0, after: 0 };

/** @param words  English, where none are given: whoever shows them leaves them out. */
function drawnOn(
  { reading }: Look,
  deck: Deck,
  classesPng: Uint8Array,
  { before, after }: typeof ROOM_PX,
  words?: OverlayWords,
): FlatSheet {
  const scale = DRAWN_PX / Math.max(deck.lengthMm, deck.widthMm);
  const [width, height] = [deck.lengthMm * scale, deck.widthMm * scale];
  const size = { widthPx: width + before + after, heightPx: height + before + after };
  const photoToDeck = [1 / scale, 0, -before / scale, 0, 1 / scale, -before / scale, 0, 0, 1];
  const laidFlat: Reading = {
    ...reading,
    photo: { ...reading.photo, ...size },
    view: { ...reading.view!, photoToDeck, lens: 0 },
  };
  const svg = overlaySvg({ reading: laidFlat, deck, classes: classesIn(reading, classesPng) }, size, words);
  return { svg, ...size, deck: { x: before, y: before, width, height } };
}

/** What is drawn needs no evidence. */
function classesIn({ grid }: Reading, png: Uint8Array): Classes {
  const labels = Uint8Array.from(decode(png).data);
  const nothing = { confidence: new Uint8Array(), evidenceGrid: grid!, evidence: new Float32Array() };
  return { grid: grid!, labels, ...nothing };
}

/**
 * What each launder would carry with the splitters at these places.
 *
 * @param places  Outlet mm, one a splitter, in the deck's order.
 *
 * Each edge of a band is moved by its error, alone, and the mean squares of the changes are added: by few places that stand for the normal
 * distribution, so that an edge beside a splitter counts though it need not pass it.
 */
export function tryPlaces({ reading, request }: Look, places: readonly number[]): LaunderContent[] {
  const deck = describeDeck(request.deck ?? null);
  const moved = (mm: number) => places[deck.splitters.findIndex(({ atMm }) => Math.abs(atMm - mm) < 0.5)] ?? mm;
  const tried: Deck = {
    ...deck,
    launders: deck.launders.map((one) => ({ ...one, fromMm: moved(one.fromMm), toMm: moved(one.toMm) })),
  };
  const outlet = outletOf(reading, lengthOf(deck));
  const launders = launderShares(outlet, tried);
  const squares = launders.map(() => ({ dense: 0, middling: 0, light: 0 }));
  for (const { stretch, end, errorMm } of unsureEdges(outlet)) {
    const product = outlet.stretches[stretch]!.class as Product;
    for (const [deviate, weight] of DEVIATES) {
      const other = launderShares(withEdge(outlet, stretch, end, deviate * errorMm), tried);
      for (const [i, sum] of squares.entries())
        sum[product] += weight * (other[i]!.carried[product] - launders[i]!.carried[product]) ** 2;
    }
  }
  return launders.map((launder, i) => {
    const of = (product: Product) => ({
      share: launder.carried[product],
      error: Math.sqrt(squares[i]![product]),
    });
    return { ...launder, carried: { dense: of("dense"), middling: of("middling"), light: of("light") } };
  });
}

/**
 * Gauss's and Hermite's five points for the normal distribution, without the middle one, in standard deviations, and their weights.
 * Source: Abramowitz & Stegun (1964), Handbook of Mathematical Functions, table 25.10, n = 5 (times √2, and over √π).
 */
const DEVIATES = [-1, 1].flatMap(
  (sign) =>
    [
      [sign * 1.35562618, 0.22207592],
      [sign * 2.85697001, 0.01125741],
    ] as const,
);

const lengthOf = ({ outletPath }: Deck) =>
  outletPath.slice(1).reduce((sum, { x, y }, i) => sum + Math.hypot(x - outletPath[i]!.x, y - outletPath[i]!.y), 0);

/** The outlet as far as products need it: the bands' stretches, without what lies between. */
function outletOf(reading: Reading, lengthMm: number): Outlet {
  const stretches = reading.bands.flatMap((band) =>
    band.outlet.map((span) => ({
      class: band.kind,
      ...span,
      fromBlurMm: null,
      toBlurMm: null,
      confidence: band.confidence,
    })),
  );
  return { lengthMm, stretches, unseenMm: reading.outletUnseenMm, shares: new Float32Array() };
}

type End = "fromMm" | "toMm";
const unsureEdges = (outlet: Outlet) =>
  outlet.stretches.flatMap(({ fromErrorMm, toErrorMm }, stretch) =>
    ([["fromMm", fromErrorMm] as const, ["toMm", toErrorMm] as const] as const).flatMap(([end, errorMm]) =>
      errorMm ? [{ stretch, end: end as End, errorMm }] : [],
    ),
  );
const withEdge = (outlet: Outlet, stretch: number, end: End, by: number): Outlet => ({
  ...outlet,
  stretches: outlet.stretches.map((one, i) =>
    i === stretch ? { ...one, [end]: Math.max(0, Math.min(outlet.lengthMm, one[end] + by)) } : one,
  ),
});
