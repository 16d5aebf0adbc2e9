import type { DeckState, QualityIssue } from "./contract/index.ts";
import { type Grey, insideOf, middleOf, pointsOf, shiftBetween } from "./frame-shift.ts";
import type { Pair } from "./geometry.ts";
import { invert, project } from "./homography.ts";
import type { OpenCv } from "./opencv.ts";
import type { Notes } from "./stages.ts";

/** The deck's surroundings begin this far out, as a share of its size: beyond launders that hang on it. */
const AROUND = 1.2;
/** Fewer frames than this, with the first, tell nothing of a shake. */
const FEWEST_SHAKEN = 4;
/**
 * How far the deck moves along its length against its surroundings, from one end of the stroke to the other as far as the frames
 * caught it, as a share of its length: above the first it runs, below the second it stands. Strokes are 8 to 30 mm on decks of 1.2 to
 * 4.6 m (common practice), some 0.3 to 1.5 %.
 */
const [RUNS, STANDS] = [0.0025, 0.0008];
/** A shake is along the length: so many times what moves across. */
const LENGTHWAYS = 2;

/**
 * Whether the deck shakes: it does not at no strokes a minute; else as the frames of a burst told; else it does where the photo is smeared
 * along the riffles alone. One sharp photo does not tell: water that ran a moment ago looks the same.
 */
export function deckStateOf({ settings, deckState = "unknown" }: Notes, issues: readonly QualityIssue[]): DeckState {
  if (settings?.strokesPerMinute === 0) return "stopped";
  if (deckState !== "unknown") return deckState;
  return issues.some(({ kind }) => kind === "shake-blur") ? "running" : "unknown";
}

/**
 * The hand moves deck and surroundings alike; what is left between the two is the deck's own stroke.
 *
 * @param deck  The outline's corners in the first frame, in their order.
 * @param shifts  Pixel of each frame → pixel of the first, by the deck; null where that is not known.
 */
export function stateByFrames(
  cv: OpenCv,
  small: readonly Grey[],
  first: number,
  shifts: readonly (readonly number[] | null)[],
  deck: readonly Pair[],
): DeckState {
  const around = insideOf(deck, AROUND, small[first]!).map((isDeck) => 1 - isDeck);
  const points = pointsOf(cv, small[first]!, around);
  if (!points) return "unknown";
  // an outline's first side is the high one, along the riffles
  const [[ax, ay], [bx, by]] = deck as [Pair, Pair];
  const long: Pair = [bx - ax, by - ay];
  const lengthPx = Math.hypot(...long);
  const middle = middleOf(deck);
  const moves = [[0, 0] as Pair];
  for (const [i, shift] of shifts.entries()) {
    const byRest = shift && shiftBetween(cv, small[i]!, small[first]!, points);
    if (!byRest) continue;
    const [x, y] = project(byRest, project(invert(shift), middle));
    moves.push([x - middle[0], y - middle[1]]);
  }
  if (moves.length < FEWEST_SHAKEN) return "unknown";
  const span = (along: Pair) => {
    const all = moves.map(([x, y]) => (x * along[0] + y * along[1]) / lengthPx ** 2);
    return Math.max(...all) - Math.min(...all);
  };
  const [lengthways, across] = [span(long), span([-long[1], long[0]])];
  if (lengthways > RUNS && lengthways > LENGTHWAYS * across) return "running";
  return Math.max(lengthways, across) < STANDS ? "stopped" : "unknown";
}
