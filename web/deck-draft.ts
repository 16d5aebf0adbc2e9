import { DeckFile, type DeckFileInput, fieldFault } from "../vision/contract/index.ts";
import { saidWords } from "./said.ts";
import { describeDeck, VisionError } from "./set-up-sums.ts";

/** A deck file while it is being written: what stands in it, and what is still wrong. */

export type Pair = [x: number, y: number];
/** Lines of points that are drawn and typed. */
export const LINES = ["outline", "outletPath", "riffled"] as const;
export type Line = (typeof LINES)[number];

/** Least points of each line, as the contract has them. */
export const LEAST_POINTS: Readonly<Record<Line, number>> = { outline: 4, outletPath: 2, riffled: 3 };
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
  if (line === "outline") return outline;
  if (line === "outletPath") return draft.outletPath ?? outline.slice(1, 4);
  return draft.riffled ?? [];
}

const tenth = (mm: number) => Math.round(mm * 10) / 10;
/** The line's points stand in the file from now on; length and width follow a drawn outline. */
export function withPoints(draft: DeckFileInput, line: Line, points: readonly Pair[]): DeckFileInput {
  const rounded = points.map(([x, y]): Pair => [tenth(x), tenth(y)]);
  if (line !== "outline") return { ...draft, [line]: rounded };
  const [lengthMm, widthMm] = [Math.max(...rounded.map(([x]) => x)), Math.max(...rounded.map(([, y]) => y))];
  return { ...draft, outline: rounded, lengthMm, widthMm };
}
/** The line follows from the rest again; riffles are then not told at all. */
export function withoutPoints(draft: DeckFileInput, line: Line): DeckFileInput {
  const { [line]: _, ...rest } = draft;
  return rest;
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
