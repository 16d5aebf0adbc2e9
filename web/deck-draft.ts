import { DeckFile, type DeckFileInput, fieldFault } from "../vision/contract/index.ts";
import { saidWords } from "./said.ts";
import { describeDeck, FEED_SHARE, VisionError } from "./set-up-sums.ts";

/** A deck file while it is being written: what stands in it, and what is still wrong. */

export type Pair = [x: number, y: number];
/** Lines of points that are drawn and typed: of these every deck has one, of wash pipes and smooth parts any number. */
const ONE_EACH = ["outline", "outletPath", "riffled", "feedBox"] as const;
export const MANY = ["washPipes", "smoothZones"] as const;
type OneEach = (typeof ONE_EACH)[number];
export type Many = (typeof MANY)[number];
export type Line = OneEach | `${Many}.${number}`;
/** What kind of line it is, and which of its kind, from 0. */
export function kindOf(line: Line): readonly [kind: OneEach | Many, nth: number] {
  const [kind, nth = "0"] = line.split(".") as [OneEach | Many, string?];
  return [kind, Number(nth)];
}
const isMany = (kind: OneEach | Many): kind is Many => (MANY as readonly string[]).includes(kind);
/** The lines that this draft has or could have. */
export const linesOf = (draft: DeckFileInput): Line[] => [
  ...ONE_EACH,
  ...MANY.flatMap((kind) => (draft[kind] ?? []).map((_, nth): Line => `${kind}.${nth}`)),
];

/** Least and most points of each line, as the contract has them, and whether its end meets its beginning. */
export const POINTS: Readonly<Record<OneEach | Many, { least: number; most: number; closed: boolean }>> = {
  outline: { least: 4, most: Number.POSITIVE_INFINITY, closed: true },
  outletPath: { least: 2, most: Number.POSITIVE_INFINITY, closed: false },
  riffled: { least: 3, most: Number.POSITIVE_INFINITY, closed: true },
  feedBox: { least: 2, most: 2, closed: false },
  washPipes: { least: 2, most: Number.POSITIVE_INFINITY, closed: false },
  smoothZones: { least: 3, most: Number.POSITIVE_INFINITY, closed: true },
};
/** Where a wash pipe and a smooth part of which nothing is said lie: shares of length and width (common practice). */
const FIRST: Readonly<Record<Many, readonly Pair[]>> = {
  washPipes: [
    [FEED_SHARE[1], 0],
    [1, 0],
  ],
  smoothZones: [
    [0.65, 0.04],
    [1, 0.04],
    [1, 1],
    [0.85, 1],
  ],
};
/** Where riffles begin and end on a deck of which nothing is said: shares of length and width (common practice). */
const RIFFLED: readonly Pair[] = [
  [0, 0.04],
  [0.65, 0.04],
  [0.85, 1],
  [0, 1],
];

/** The points of a line; where the file has none, those that follow from the rest. */
export function pointsOf(draft: DeckFileInput, line: Line): Pair[] {
  const { lengthMm, widthMm } = draft;
  const outline: Pair[] = draft.outline ?? [
    [0, 0],
    [lengthMm, 0],
    [lengthMm, widthMm],
    [0, widthMm],
  ];
  const [kind, nth] = kindOf(line);
  if (isMany(kind)) return draft[kind]?.[nth] ?? [];
  if (kind === "outline") return outline;
  if (kind === "outletPath") return draft.outletPath ?? outline.slice(1, 4);
  if (kind === "feedBox") return draft.feedBox ?? FEED_SHARE.map((share): Pair => [share * lengthMm, outline[0]![1]]);
  return draft.riffled ?? [];
}

const tenth = (mm: number) => Math.round(mm * 10) / 10;
/** The line's points stand in the file from now on; length and width follow a drawn outline. */
export function withPoints(draft: DeckFileInput, line: Line, points: readonly Pair[]): DeckFileInput {
  const rounded = points.map(([x, y]): Pair => [tenth(x), tenth(y)]);
  const [kind, nth] = kindOf(line);
  if (isMany(kind)) return { ...draft, [kind]: (draft[kind] ?? []).map((one, i) => (i === nth ? rounded : one)) };
  if (kind !== "outline") return { ...draft, [kind]: rounded };
  const [lengthMm, widthMm] = [Math.max(...rounded.map(([x]) => x)), Math.max(...rounded.map(([, y]) => y))];
  return { ...draft, outline: rounded, lengthMm, widthMm };
}
/** The line follows from the rest again, or is not told at all. */
export function withoutPoints(draft: DeckFileInput, line: Line): DeckFileInput {
  const [kind, nth] = kindOf(line);
  const { [kind]: was, ...rest } = draft;
  const others = isMany(kind) ? (draft[kind] ?? []).filter((_, i) => i !== nth) : [];
  return others.length > 0 ? { ...rest, [kind]: others } : rest;
}
/** Whether the file itself tells this line. */
export const tells = (draft: DeckFileInput, line: Line): boolean => draft[kindOf(line)[0]] !== undefined;
/** A wash pipe or smooth part more. */
export function withOneMore(draft: DeckFileInput, kind: Many): DeckFileInput {
  const { lengthMm, widthMm } = draft;
  const first = FIRST[kind].map(([x, y]): Pair => [tenth(x * lengthMm), tenth(y * widthMm)]);
  return { ...draft, [kind]: [...(draft[kind] ?? []), first] };
}
/** Lines with a point beyond the deck's length or width: a slip of the hand, most likely, but no fault of the file. */
export const linesBeyond = (draft: DeckFileInput): Line[] =>
  linesOf(draft).filter((line) =>
    pointsOf(draft, line).some(([x, y]) => x > draft.lengthMm + 1 || y > draft.widthMm + 1),
  );

/** What a pair of numbers is when one or both are typed: a half that is not typed is no number, which the check names. */
export const bothOf = (a: number | null, b: number | null): [number, number] | undefined =>
  a === null && b === null ? undefined : [a ?? Number.NaN, b ?? Number.NaN];

type SetPoints = NonNullable<DeckFileInput["setPoints"]>;
/** Set points changed; what is undefined is not told. */
export function withSetPoints(draft: DeckFileInput, change: Partial<SetPoints>): DeckFileInput {
  const { setPoints: was, ...rest } = draft;
  const told = Object.entries({ ...was, ...change }).filter(([, value]) => value !== undefined);
  return told.length > 0 ? { ...rest, setPoints: Object.fromEntries(told) } : rest;
}
/** Legs this far apart; not told where neither is typed. */
export function withSupports(draft: DeckFileInput, along: number | null, across: number | null): DeckFileInput {
  const { supports: _, ...rest } = draft;
  const both = bothOf(along, across);
  return both ? { ...rest, supports: { alongMm: both[0], acrossMm: both[1] } } : rest;
}
export function withFirstRiffles(draft: DeckFileInput): DeckFileInput {
  const { lengthMm, widthMm } = draft;
  return withPoints(
    draft,
    "riffled",
    RIFFLED.map(([x, y]) => [x * lengthMm, y * widthMm]),
  );
}
/** A point more, in the middle of the longest stretch, so that it can be told from the others. */
export function withPointMore(points: readonly Pair[], isClosed: boolean): Pair[] {
  const ends = points.map((from, i) => ({ i, from, to: points[(i + 1) % points.length]! }));
  const stretches = isClosed ? ends : ends.slice(0, -1);
  const length = ({ from, to }: (typeof ends)[number]) => Math.hypot(to[0] - from[0], to[1] - from[1]);
  const { i, from, to } = stretches.reduce((a, b) => (length(b) > length(a) ? b : a));
  return [...points.slice(0, i + 1), [(from[0] + to[0]) / 2, (from[1] + to[1]) / 2], ...points.slice(i + 1)];
}

/** Splitters changed: launders of the file's own would meet them no more, and follow from them again. */
export function withSplitters(draft: DeckFileInput, splitters: NonNullable<DeckFileInput["splitters"]>): DeckFileInput {
  const { launders: _, ...rest } = draft;
  return { ...rest, splitters };
}

/** The finished file, or what is wrong with it: a few faults at a time. */
export function checkDraft(draft: DeckFileInput): { file: DeckFile; faults: [] } | { file: null; faults: string[] } {
  const parsed = DeckFile.safeParse(draft);
  if (!parsed.success) {
    return {
      file: null,
      faults: parsed.error.issues.slice(0, 3).map((issue) => saidWords("", fieldFault(issue)).words),
    };
  }
  try {
    describeDeck(parsed.data);
    return { file: parsed.data, faults: [] };
  } catch (error) {
    if (!(error instanceof VisionError)) throw error;
    return { file: null, faults: [saidWords(error.message, error.said).words] };
  }
}
