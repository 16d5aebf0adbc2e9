import type { CornersFile, DeckFileInput, QualityIssue } from "../contract/index.ts";
import { describeDeck } from "../deck.ts";
import { ViewError } from "../errors.ts";
import { signedArea } from "../geometry.ts";
import type { OpenCv } from "../opencv.ts";
import type { Deck, Photo, View } from "../stages.ts";
import { viewFromCorners } from "../view.ts";
import { judgeFitness } from "./fitness.ts";
import { viewFromMarks } from "./marks-view.ts";
import { findOutline } from "./outline.ts";

export interface Located {
  /** The deck as it lies in this photo: without a deck file the corners' turn tells its hand. */
  readonly deck: Deck;
  readonly view: View;
  /** False: the photo cannot be read; `issues` say why and what to do. */
  readonly usable: boolean;
  readonly issues: readonly QualityIssue[];
}

/** An outline found alone is read when its places are known to this, as a share of the deck's length … */
const OUTLINE_ERROR_SHARE = 0.04;
/** … and when it is this sure which end is the drive's. */
const OUTLINE_SURE = 0.8;

/**
 * Where the deck lies in the photo, and whether the photo is fit to be read: by the corners a person gave, else by printed
 * marks, else by the deck's own straight edges.
 *
 * @throws {ViewError} `corners-missing` when none tells, saying what would; others when they cannot be this deck.
 */
export function findView(cv: OpenCv, photo: Photo, given: Deck, corners: CornersFile | null): Located {
  const { deck, view, issues } = corners
    ? byCorners(cv, photo, given, corners)
    : (byMarks(cv, photo, given) ?? byOutline(cv, photo, given));
  const fitness = judgeFitness(cv, photo, deck, view);
  return { deck, view, usable: fitness.usable, issues: [...fitness.issues, ...issues] };
}

type Found = Pick<Located, "deck" | "view" | "issues">;

function byCorners(cv: OpenCv, photo: Photo, given: Deck, corners: CornersFile): Found {
  const deck = handFrom(corners, given);
  return { deck, view: viewFromCorners(cv, photo, deck, corners), issues: [] };
}

function byMarks(cv: OpenCv, photo: Photo, deck: Deck): Found | null {
  const marks = viewFromMarks(cv, photo, deck);
  if (!marks) return null;
  const issues = marks.misplaced.map((id) => ({
    kind: "mark-misplaced",
    say: `Mark ${id} does not lie where the deck file says, so it was left out. Measure its centre again.`,
  }));
  return { deck, view: marks.view, issues };
}

function byOutline(cv: OpenCv, photo: Photo, deck: Deck): Found {
  const giveCorners =
    "Give its corners: drag them on the page, or put a NAME.corners.json beside the photo, starting at the high drive-end corner.";
  if (deck.scale === "deck file") {
    const best = findOutline(cv, photo, deck)?.[0]?.view;
    if (best && best.errorMm <= OUTLINE_ERROR_SHARE * deck.lengthMm) {
      if (best.orientationConfidence < OUTLINE_SURE) {
        throw new ViewError(
          "corners-missing",
          `A deck was found, but not which end is the drive's and which side the wash water's. ${giveCorners}`,
        );
      }
      const say = `The deck was found by its edges alone, so places on it may be off by about ${Math.round(best.errorMm)} mm. Check the corners, or fix printed marks beside the deck (deckbands marks).`;
      return { deck, view: best, issues: [{ kind: "place", say }] };
    }
  }
  const marks = deck.file.marks
    ? "Fewer than two of the deck's printed marks can be seen: wipe them and take the photo so that two or more show."
    : "Printed marks beside the deck (deckbands marks) make that needless.";
  throw new ViewError(
    "corners-missing",
    `Where the deck lies in this photo cannot be told for sure, or no deck is in it. ${giveCorners} ${marks}`,
  );
}

/** Without a deck file the corners' turn tells the hand. */
function handFrom({ corners }: CornersFile, deck: Deck): Deck {
  if (deck.scale === "deck file" || corners.length !== 4 || signedArea(corners) >= 0) return deck;
  const mirrored: DeckFileInput = { ...deck.file, hand: "left" };
  return { ...describeDeck(mirrored), scale: "assumed" };
}
