import type { Hint, Product, Reading } from "../contract/index.ts";
import { type Pair, pathLength } from "../geometry.ts";
import { said, type Text } from "../said.ts";
import type { Deck, Notes } from "../stages.ts";

/** What advice may look at: a reading, never pixels. */
export interface Case {
  readonly reading: Reading;
  readonly deck: Deck;
  readonly notes: Notes;
}
export type Span = readonly [from: number, to: number];

/**
 * The trade's order: what is upset first, then the film, feed, level, wash water, slope, splitters, stroke and
 * speed; last what only a count of grains can tell.
 * Source: order of adjustment, common practice.
 */
export const ORDER = ["photo", "film", "feed", "level", "water", "slope", "splitter", "drive", "check"] as const;

/** A hint with what ranks it. */
export interface Draft {
  readonly hint: Hint;
  readonly order: (typeof ORDER)[number];
  /** Share by which the aim is expected to be met better; null where the twin cannot say. */
  readonly gain: number | null;
  /** Evidence over what is needed to speak: 1 just enough. */
  readonly strength: number;
}

/** A patch, rill or band less sure than this is not acted on. */
export const SURE = 0.5;
/** A difference counts from this many standard errors. */
export const ERRORS = 2;

/** One class alone is no fan: it is believed from here on. */
const SURE_ALONE = 0.7;
/** Two bands are surely seen, or one beyond doubt. */
export function fanSeen({ bands }: Pick<Reading, "bands">): boolean {
  const sure = bands.filter(({ confidence }) => confidence >= SURE);
  return sure.length > 1 || sure.some(({ confidence }) => confidence >= SURE_ALONE);
}

const HANDS_CLEAR = said("said.caution.handsClear");
const LOCK_OUT = [...HANDS_CLEAR, ...said("said.caution.lockOut")];
/** What can hurt the person who follows a hint. */
export const CAUTIONS = {
  lockOut: LOCK_OUT,
  water: [...LOCK_OUT, ...said("said.caution.keepDry")],
  level: said("said.caution.level"),
  photo: said("said.caution.photo"),
  drive: said("said.caution.drive"),
  chemicals: [...HANDS_CLEAR, ...said("said.caution.chemicals")],
} as const satisfies Record<string, Text>;

export const hold = (control: Hint["control"], target: string | null = null) =>
  ({ control, target, direction: "hold", amount: null, toMm: null }) as const;

/** Where one product leaves, the middle of that, its poorest edge error and how sure its bands are. */
export function sureSpans(reading: Reading, product: Product) {
  const bands = reading.bands.filter((band) => band.kind === product && band.confidence >= SURE);
  const edges = bands.flatMap((band) => band.outlet);
  const spans = edges.map((e): Span => [e.fromMm, e.toMm]);
  const length = total(spans);
  const middle = length > 0 ? sum(spans.map(([a, b]) => ((a + b) / 2) * (b - a))) / length : 0;
  const errorMm = Math.max(0, ...edges.flatMap((e) => [e.fromErrorMm ?? 0, e.toErrorMm ?? 0]));
  return { spans, length, middle, errorMm, confidence: Math.min(1, ...bands.map((b) => b.confidence)) };
}

/** Stretches of the outlet that take this product; none of dense where the deck has no splitter. */
export const laundersOf = (deck: Deck, product: Product): Span[] =>
  deck.launders.filter((l) => l.product === product).map((l) => [l.fromMm, l.toMm]);

/** Outlet mm where the tailings side begins: the first corner of the path after which it runs along the riffles. */
export function sideStart({ outletPath }: Deck): number {
  let along = 0;
  for (let i = 1; i < outletPath.length; i++) {
    const [a, b] = [outletPath[i - 1]!, outletPath[i]!];
    if (Math.abs(b.x - a.x) > Math.abs(b.y - a.y)) return along;
    along += Math.hypot(b.x - a.x, b.y - a.y);
  }
  return along;
}

export const outletLength = (deck: Deck) => pathLength(deck.outletPath.map(({ x, y }): Pair => [x, y]));
/** How sure the less sure of the bands at the outlet is; 0 where none reaches it. */
export const bandConfidence = ({ bands }: Pick<Reading, "bands">) =>
  bands.length > 0 ? Math.min(...bands.filter((b) => b.outlet.length > 0).map((b) => b.confidence), 1) : 0;
export const overlaps = (spans: readonly Span[], others: readonly Span[]) =>
  sum(spans.flatMap((s) => others.map((o) => Math.max(0, Math.min(s[1], o[1]) - Math.max(s[0], o[0])))));
export const total = (spans: readonly Span[]) => sum(spans.map(([from, to]) => to - from));
export const sum = (numbers: readonly number[]) => numbers.reduce((all, n) => all + n, 0);
export const share = (value: number) => rounded(Math.min(1, Math.max(0, value)));
export const rounded = (value: number) => Math.round(value * 10_000) / 10_000;
export const mm1 = (mm: number) => Math.round(mm * 10) / 10;
