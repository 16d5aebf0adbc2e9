import type { CornersFile, DeckFileInput, QualityIssue } from "../contract/index.ts";
import { describeDeck } from "../deck.ts";
import { ViewError } from "../errors.ts";
import { type Pair, signedArea } from "../geometry.ts";
import type { DeckEyes } from "../model/deck-look.ts";
import type { FirstLook } from "../model/first-look.ts";
import type { OpenCv } from "../opencv.ts";
import { asMm, asShare, issueOf, said } from "../said.ts";
import type { Deck, Photo, View } from "../stages.ts";
import { fitHomography, viewFromCorners } from "../view.ts";
import { judgeFitness } from "./fitness.ts";
import { viewFromMarks } from "./marks-view.ts";
import { findOutline, mainCorners } from "./outline.ts";
import { fitPlane, LENS_ERROR, viewOf } from "./plane-fit.ts";
import { cornersWithinRims } from "./rims.ts";
import { drawnNear, type SeenOutline, seeOutline } from "./seen-outline.ts";

export interface Located {
  /** The deck as it lies in this photo: without a deck file the corners' turn tells its hand. */
  readonly deck: Deck;
  readonly view: View;
  /** False: the photo cannot be read; `issues` say why and what to do. */
  readonly usable: boolean;
  readonly issues: readonly QualityIssue[];
}

/** An outline found alone is read when its places are known to this, as a share of the deck's length … */
const OUTLINE_ERROR_SHARE = 0.05;
/** … and when it is this sure which end is the drive's. */
const OUTLINE_SURE = 0.8;
/** So sure that the deck is of the other hand than its file says that the photo is refused; below, one tap is asked for (of 70 scenes of odd seeds five looked to be of the other hand, at most this sure; nine in ten of the others are surer of theirs). */
const HAND_SURE = 0.98;
/** Less overlap of the seen deck with its quadrilateral, or less of its sides seen, is no deck (real sand, wood and rigs reach 0.78 and 0.53; decks begin at 0.81 and 0.70). */
const LEAST_OVERLAP = 0.78;
const LEAST_SUPPORT = 0.6;

/**
 * Where the deck lies in the photo, and whether the photo is fit to be read: by the corners a person gave, else by printed
 * marks, else by the deck as the networks see it or, without them, by its own straight edges.
 *
 * @param firstCorner  A tap near the drive end's corner on the wash-water side: which way round the deck lies.
 *
 * @throws {ViewError} `corners-missing` when none tells, saying what would; others when they cannot be this deck.
 */
export function findView(
  cv: OpenCv,
  photo: Photo,
  given: Deck,
  corners: CornersFile | null,
  eyes?: DeckEyes,
  firstCorner?: Pair,
): Located {
  const { deck, view, issues } = corners
    ? byCorners(cv, photo, given, corners)
    : (byMarks(cv, photo, given) ?? byOutline(cv, photo, given, eyes, firstCorner));
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
  const issues = marks.misplaced.map((id) => issueOf("mark-misplaced", said("said.photo.markLeft", { id })));
  return { deck, view: marks.view, issues };
}

function byOutline(cv: OpenCv, photo: Photo, given: Deck, eyes?: DeckEyes, firstCorner?: Pair): Found {
  const giveCorners = said("said.refused.giveCorners");
  const found = eyes ? bySight(cv, photo, given, eyes, firstCorner) : byEdges(cv, photo, given);
  if (found && found.view.errorMm <= OUTLINE_ERROR_SHARE * found.deck.lengthMm) {
    if (found.view.orientationConfidence < OUTLINE_SURE) {
      throw new ViewError("turn-unsure", [...said("said.refused.turnUnsure"), ...giveCorners]);
    }
    const off = Math.round(found.view.errorMm);
    const far =
      given.scale === "deck file"
        ? said("said.photo.byLooks", { far: asMm(off) })
        : said("said.photo.byLooksShare", { far: asShare(off / found.deck.lengthMm) });
    return { ...found, issues: [issueOf("place", far)] };
  }
  const marks = said(given.file.marks ? "said.refused.moreMarks" : "said.refused.printMarks");
  throw new ViewError("corners-missing", [...said("said.refused.noDeck"), ...giveCorners, ...marks]);
}

/** The deck as the networks see it; without a deck file they tell its hand too. */
function bySight(
  cv: OpenCv,
  photo: Photo,
  given: Deck,
  eyes: DeckEyes,
  firstCorner?: Pair,
): Pick<Found, "deck" | "view"> | null {
  const seen = seeOutline(cv, eyes, photo, given, mainCorners(given), firstCorner);
  if (!seen || seen.overlap < LEAST_OVERLAP || seen.support < LEAST_SUPPORT) return null;
  if (given.scale === "deck file" && seen.hand !== given.hand && seen.handChance >= HAND_SURE) {
    throw new ViewError("corners-hand", said("said.refused.handSeen", { seen: seen.hand, stated: given.hand }));
  }
  const deck = given.scale === "deck file" ? given : withHand(given, seen.hand);
  return { deck, view: viewOfSeen(cv, photo, deck, seen, seen.wayRound) };
}

/**
 * The view of a deck found by sight, anew when the model, looking at it laid flat, sees that rims were taken for deck.
 *
 * @param look  At the deck laid flat by this view.
 */
export function withinRims(cv: OpenCv, photo: Photo, deck: Deck, view: View, look: FirstLook): View {
  const within = view.source === "outline" ? cornersWithinRims(photo, deck, view, look) : null;
  if (!within) return view;
  const deckToPhoto = fitHomography(cv, mainCorners(deck), drawnNear(cv, photo, within));
  return viewOf({ deckToPhoto, errorAt: view.errorAt }, photo, deck, view);
}

function viewOfSeen(
  cv: OpenCv,
  photo: Photo,
  deck: Deck,
  { corners, errorsPx }: Pick<SeenOutline, "corners" | "errorsPx">,
  wayRound: number,
): View {
  const main = mainCorners(deck);
  const sights = main.map((mm, k) => ({ mm, px: corners[k]!, errorPx: errorsPx[k]! }));
  const fit = fitPlane(photo, sights, fitHomography(cv, main, corners), {
    placeMm: 0,
    lens: 0,
    lensError: LENS_ERROR,
  });
  return viewOf(fit, photo, deck, { source: "outline", lens: 0, orientationConfidence: wayRound });
}

function byEdges(cv: OpenCv, photo: Photo, deck: Deck): Pick<Found, "deck" | "view"> | null {
  const view = deck.scale === "deck file" ? findOutline(cv, photo, deck)?.[0]?.view : null;
  return view ? { deck, view } : null;
}

/** Without a deck file the corners' turn tells the hand. */
function handFrom({ corners }: CornersFile, deck: Deck): Deck {
  if (deck.scale === "deck file" || corners.length !== 4 || signedArea(corners) >= 0) return deck;
  return withHand(deck, "left");
}

function withHand(deck: Deck, hand: "right" | "left"): Deck {
  const file: DeckFileInput = { ...deck.file, hand };
  return { ...describeDeck(file), scale: "assumed" };
}
