import type { CornersFile, DeckFileInput, QualityIssue } from "../contract/index.ts";
import { describeDeck } from "../deck.ts";
import { ViewError } from "../errors.ts";
import { signedArea } from "../geometry.ts";
import type { OpenCv } from "../opencv.ts";
import type { Deck, Photo, View } from "../stages.ts";
import { viewFromCorners } from "../view.ts";
import { judgeFitness } from "./fitness.ts";
import { viewFromMarks } from "./marks-view.ts";

export interface Located {
  /** The deck as it lies in this photo: without a deck file the corners' turn tells its hand. */
  readonly deck: Deck;
  readonly view: View;
  /** False: the photo cannot be read; `issues` say why and what to do. */
  readonly usable: boolean;
  readonly issues: readonly QualityIssue[];
}

/**
 * Where the deck lies in the photo, and whether the photo is fit to be read: by the corners a person gave, else by printed
 * marks.
 *
 * @throws {ViewError} `corners-missing` when neither tells, saying what would; others when they cannot be this deck.
 */
export function findView(cv: OpenCv, photo: Photo, given: Deck, corners: CornersFile | null): Located {
  const { deck, view, issues } = corners ? byCorners(cv, photo, given, corners) : byMarks(cv, photo, given);
  const fitness = judgeFitness(cv, photo, deck, view);
  return { deck, view, usable: fitness.usable, issues: [...fitness.issues, ...issues] };
}

type Found = Pick<Located, "deck" | "view" | "issues">;

function byCorners(cv: OpenCv, photo: Photo, given: Deck, corners: CornersFile): Found {
  const deck = handFrom(corners, given);
  return { deck, view: viewFromCorners(cv, photo, deck, corners), issues: [] };
}

function byMarks(cv: OpenCv, photo: Photo, deck: Deck): Found {
  const marks = viewFromMarks(cv, photo, deck);
  if (!marks) {
    throw new ViewError(
      "corners-missing",
      deck.file.marks
        ? "Fewer than two of the deck's printed marks can be seen. Wipe them and take the photo so that two or more show, or give the corners: drag them on the page, or put a NAME.corners.json beside the photo."
        : "Where the deck lies in this photo is not known yet. Give its corners: drag them on the page, or put a NAME.corners.json beside the photo. Printed marks (deckbands marks) make that needless.",
    );
  }
  const issues = marks.misplaced.map((id) => ({
    kind: "mark-misplaced",
    say: `Mark ${id} does not lie where the deck file says, so it was left out. Measure its centre again.`,
  }));
  return { deck, view: marks.view, issues };
}

/** Without a deck file the corners' turn tells the hand. */
function handFrom({ corners }: CornersFile, deck: Deck): Deck {
  if (deck.scale === "deck file" || corners.length !== 4 || signedArea(corners) >= 0) return deck;
  const mirrored: DeckFileInput = { ...deck.file, hand: "left" };
  return { ...describeDeck(mirrored), scale: "assumed" };
}
