import { NotesError, ViewError } from "../errors.ts";
import { type Pair, signedArea } from "../geometry.ts";
import { project } from "../homography.ts";
import { bend } from "../lens-bulge.ts";
import type { OpenCv } from "../opencv.ts";
import { said } from "../said.ts";
import type { Deck, Photo, View } from "../stages.ts";
import { fitHomography } from "../view.ts";
import { estimateLens, type LensFound } from "./lens.ts";
import { DICTIONARY, type FoundMark, findMarkAt, findMarks } from "./markers.ts";
import { fitPlane, LENS_ERROR, type PlaneFit, type Sight, viewOf } from "./plane-fit.ts";

/**
 * One standard error of a mark's place on the deck, each way: measured with a tape, and lying up to 3 mm above or below the
 * deck's plane (common practice).
 */
const PLACE_MM = 1.5;
/** One standard error of a mark's corner on its own print, mm: printer, curl of the paper, dirt on its rim (common practice). */
const PRINT_MM = 0.3;
/** Misfit over expectation beyond which a mark is held to lie elsewhere than the deck file says. */
const MISPLACED = 4;
/** With the odd mark left out the misfit must fall below this share. */
const MENDED = 0.4;

type Mark = NonNullable<Deck["file"]["marks"]>["items"][number];

export interface MarksFound {
  readonly view: View;
  /** Numbers of the marks the view stands on. */
  readonly used: readonly number[];
  /** Numbers of the marks that lie elsewhere than the deck file says, left out. */
  readonly misplaced: readonly number[];
}

/**
 * Corners of a mark on the deck, mm: the print's own top-left first, then clockwise on the print.
 *
 * With `turnDegrees` 0 the print's top points to the wash-water side; it turns clockwise seen from above. On a left-hand deck,
 * whose coordinates are a mirror image, the print's right points toward the drive.
 */
export function markCorners({ centre, sizeMm, turnDegrees }: Mark, hand: Deck["hand"]): Pair[] {
  const toDeck = markToDeck({ centre, turnDegrees }, hand);
  const half = sizeMm / 2;
  return (
    [
      [-half, -half],
      [half, -half],
      [half, half],
      [-half, half],
    ] as Pair[]
  ).map(toDeck);
}

function markToDeck({ centre, turnDegrees }: Pick<Mark, "centre" | "turnDegrees">, hand: Deck["hand"]) {
  const turn = (turnDegrees * Math.PI) / 180;
  const [c, s] = [Math.cos(turn), Math.sin(turn)];
  const mirror = hand === "right" ? 1 : -1;
  return ([x, y]: Pair): Pair => [centre[0] + mirror * (x * c - y * s), centre[1] + x * s + y * c];
}

/**
 * The view from the printed marks that the deck file lists: two or more; each further one makes it better.
 *
 * @returns null when the deck file lists no marks, or fewer than two of them are seen.
 * @throws {NotesError} when the dictionary is not known; {ViewError} `marks-disagree` when what is seen cannot be this deck.
 */
export function viewFromMarks(cv: OpenCv, photo: Photo, deck: Deck): MarksFound | null {
  const listed = marksOf(deck);
  if (listed.size < 2) return null;
  const seen = findMarks(cv, photo, [...listed.keys()]);
  if (seen.length < 2) return null;
  const lens = lensFor(cv, photo, deck, seen, listed);
  let { fit, misplaced } = fitWithoutStrays(cv, photo, deck, seen, listed, lens);
  let used = seen.filter(({ id }) => !misplaced.includes(id));
  const hidden = [...listed.values()].filter(({ id }) => !seen.some((mark) => mark.id === id));
  const more = hidden.flatMap((mark) => findHidden(photo, deck, fit, mark, lens.lens) ?? []);
  if (more.length > 0) {
    ({ fit, misplaced } = fitWithoutStrays(cv, photo, deck, [...used, ...more], listed, lens));
    used = [...used, ...more].filter(({ id }) => !misplaced.includes(id));
  }
  if (used.length < 2) return null;
  return {
    view: viewOf(fit, photo, deck, { source: "marks", lens: lens.lens, orientationConfidence: 1 }),
    used: used.map(({ id }) => id).sort((a, b) => a - b),
    misplaced,
  };
}

function marksOf({ file: { marks } }: Deck): Map<number, Mark> {
  if (!marks) return new Map();
  if (marks.dictionary !== DICTIONARY) {
    throw new NotesError("deck-file", said("said.refused.otherMarks", { given: marks.dictionary, wanted: DICTIONARY }));
  }
  return new Map(marks.items.map((item) => [item.id, item]));
}

function sightsOf(seen: readonly FoundMark[], listed: ReadonlyMap<number, Mark>, hand: Deck["hand"]): Sight[] {
  return seen.flatMap(({ id, corners, errorPx }) => {
    const onDeck = markCorners(listed.get(id)!, hand);
    const pxPerMm = Math.sqrt(Math.abs(signedArea(corners))) / listed.get(id)!.sizeMm;
    return corners.map(
      (px, i): Sight => ({ px, mm: onDeck[i]!, errorPx: Math.hypot(errorPx[i]!, PRINT_MM * pxPerMm), group: id }),
    );
  });
}

type Lens = Pick<LensFound, "lens" | "error">;
const PLAIN: Lens = { lens: 0, error: LENS_ERROR };

/** The picture's straight lines may tell of a bulge; it is believed where marks then lie no worse. */
function lensFor(
  cv: OpenCv,
  photo: Photo,
  deck: Deck,
  seen: readonly FoundMark[],
  listed: ReadonlyMap<number, Mark>,
): Lens {
  const found = estimateLens(cv, photo);
  if (found.lens === 0) return found;
  const strain = (lens: Lens) => fitMarks(cv, photo, deck, seen, listed, lens).strain ?? 0;
  return strain(found) <= Math.max(1, strain(PLAIN)) ? found : PLAIN;
}

function fitMarks(
  cv: OpenCv,
  photo: Photo,
  deck: Deck,
  seen: readonly FoundMark[],
  listed: ReadonlyMap<number, Mark>,
  lens: Lens,
) {
  const sights = sightsOf(seen, listed, deck.hand);
  const first = fitHomography(
    cv,
    sights.map((s) => s.mm),
    sights.map((s) => s.px),
  );
  return fitPlane(photo, sights, first, { placeMm: PLACE_MM, lens: lens.lens, lensError: lens.error });
}

/** Fit; when marks disagree and there are at least three, leave out the one that mends it. */
function fitWithoutStrays(
  cv: OpenCv,
  photo: Photo,
  deck: Deck,
  seen: readonly FoundMark[],
  listed: ReadonlyMap<number, Mark>,
  lens: Lens,
): { fit: PlaneFit; misplaced: number[] } {
  const fit = fitMarks(cv, photo, deck, seen, listed, lens);
  const strain = fit.strain ?? 0;
  if (strain < MISPLACED) return { fit, misplaced: [] };
  if (seen.length > 2) {
    const without = seen.map((odd) => ({
      odd,
      fit: fitMarks(
        cv,
        photo,
        deck,
        seen.filter((mark) => mark !== odd),
        listed,
        lens,
      ),
    }));
    const best = without.reduce((a, b) => ((a.fit.strain ?? 0) <= (b.fit.strain ?? 0) ? a : b));
    if ((best.fit.strain ?? 0) < Math.min(MISPLACED, MENDED * strain))
      return { fit: best.fit, misplaced: [best.odd.id] };
  }
  throw new ViewError(
    "marks-disagree",
    said("said.refused.marksDisagree", { ids: seen.map(({ id }) => id).join(", "), hand: deck.hand }),
  );
}

function findHidden(photo: Photo, deck: Deck, fit: PlaneFit, mark: Mark, lens: number): FoundMark | null {
  const toDeck = markToDeck(mark, deck.hand);
  const toPx = (mm: Pair): Pair => bend(photo, lens, project(fit.deckToPhoto, toDeck(mm)));
  const [x, y] = fit.errorAt({ frame: "deck", x: mark.centre[0], y: mark.centre[1] });
  const [a, b] = [toPx([0, 0]), toPx([mark.sizeMm, 0])];
  const pxPerMm = Math.hypot(b[0] - a[0], b[1] - a[1]) / mark.sizeMm;
  return findMarkAt(photo, mark.id, mark.sizeMm, toPx, Math.max(2, 1.5 * Math.hypot(x, y, 2) * pxPerMm));
}
