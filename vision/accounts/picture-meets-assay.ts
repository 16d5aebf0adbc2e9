import type { Measured } from "../process/range.ts";
import { said, type Text } from "../said.ts";
import { AccountsError } from "./fault.ts";
import { LEAST_POINTS, type Line, lineThrough, type Predicted, predict } from "./line-with-errors.ts";

/** One launder of one run, as its photos and as its assays have it. */
export interface Meeting {
  readonly run: string;
  readonly site: string;
  readonly material: string;
  readonly launder: string;
  /** Of each photo of the run, by outlet length: dense's share there, or the share of dense carried there. */
  readonly photosSay: readonly Measured[];
  /** Grade or recovery of the balanced run, in any unit. */
  readonly assaySays: Measured;
}

/** One launder's photos held against its assays; what one site and material teach says nothing of another. */
export interface Relation {
  readonly site: string;
  readonly material: string;
  readonly launder: string;
  readonly runs: number;
  readonly line: Line | null;
  /** Why there is no line, and what would bring one; null where there is. */
  readonly refusal: Text | null;
  /** What each run would have been foretold from the others; empty while taking one out leaves fewer than three. */
  readonly leftOut: readonly { readonly run: string; readonly foretold: Predicted; readonly assaySays: Measured }[];
  /** Root mean square of foretold less assayed over those, in the unit of the assays. */
  readonly leftOutError: number | null;
}

/**
 * Relate what photos say of each launder to what its assays say, by site, material and launder.
 *
 * Photos of one run are one point: they share its feed and its light, so that ten of them are no ten runs.
 *
 * @throws {AccountsError} `too-few` for a run without photos.
 */
export function relate(meetings: readonly Meeting[]): Relation[] {
  const groups = new Map<string, Meeting[]>();
  for (const meeting of meetings) {
    const key = JSON.stringify([meeting.site, meeting.material, meeting.launder]);
    groups.set(key, [...(groups.get(key) ?? []), meeting]);
  }
  return [...groups.values()].map((group) => {
    const { site, material, launder } = group[0]!;
    const points = group.map(({ run, photosSay, assaySays }) => ({ run, x: ofPhotos(photosSay), y: assaySays }));
    const { line, refusal } = tryLine(points);
    const leftOut = line ? eachLeftOut(points) : [];
    const misses = leftOut.map(({ foretold, assaySays }) => (foretold.value - assaySays.value) ** 2);
    return {
      site,
      material,
      launder,
      runs: points.length,
      line,
      refusal,
      leftOut,
      leftOutError: misses.length > 0 ? Math.sqrt(misses.reduce((sum, m) => sum + m, 0) / misses.length) : null,
    };
  });
}

/**
 * What a new photo lets expect of its launder.
 *
 * @param limits  Between which the truth lies in any case: 0 and 1 for a recovery, 0 and the pure mineral for a grade.
 * @throws {AccountsError} `too-few` where the relation has no line yet: its refusal says what is wanting.
 */
export function expectFrom(
  { line, refusal }: Relation,
  photosSay: readonly Measured[],
  limits: readonly [least: number, most: number],
): Predicted {
  if (!line) throw new AccountsError("too-few", refusal ?? said("said.runs.noLine"));
  const foretold = predict(line, ofPhotos(photosSay));
  const within = (value: number) => Math.min(Math.max(value, limits[0]), limits[1]);
  return { ...foretold, value: within(foretold.value), from: within(foretold.from), to: within(foretold.to) };
}

interface Point {
  readonly run: string;
  readonly x: Measured;
  readonly y: Measured;
}

function tryLine(points: readonly Point[]): Pick<Relation, "line" | "refusal"> {
  try {
    return { line: lineThrough(points), refusal: null };
  } catch (error) {
    if (error instanceof AccountsError && error.code === "too-few") return { line: null, refusal: error.said };
    throw error;
  }
}

function eachLeftOut(points: readonly Point[]): Relation["leftOut"] {
  if (points.length <= LEAST_POINTS) return [];
  return points.flatMap(({ run, x, y }) => {
    const { line } = tryLine(points.filter((other) => other.run !== run));
    return line ? [{ run, foretold: predict(line, x), assaySays: y }] : [];
  });
}

/** Mean of a run's photos; its error is their own, which they may share, and how they differ. */
function ofPhotos(photos: readonly Measured[]): Measured {
  const n = photos.length;
  if (n === 0) throw new AccountsError("too-few", "A run without a photo says nothing here: add one, or leave it out.");
  const value = photos.reduce((sum, photo) => sum + photo.value, 0) / n;
  const own = photos.reduce((sum, photo) => sum + photo.error, 0) / n;
  const squares = photos.reduce((sum, photo) => sum + (photo.value - value) ** 2, 0);
  return { value, error: Math.hypot(own, n > 1 ? Math.sqrt(squares / (n - 1) / n) : 0) };
}
