import { findBands } from "./bands.ts";
import type { CornersFile, DeckFileInput, Reading } from "./contract/index.ts";
import { describeDeck } from "./deck.ts";
import { ViewError } from "./errors.ts";
import { signedArea } from "./geometry.ts";
import { evenLight } from "./light.ts";
import type { OpenCv } from "./opencv.ts";
import { readOutlet } from "./outlet.ts";
import { findDryPatches, findRills } from "./patches.ts";
import { launderShares, splitterPlaces } from "./products.ts";
import { makeReading, type Source } from "./reading.ts";
import { rectify } from "./rectify.ts";
import { advise } from "./rules.ts";
import { type Segmenter, segment } from "./segment.ts";
import type { Classes, Deck, Notes, Photo } from "./stages.ts";
import { viewFromCorners } from "./view.ts";

export const STAGES = ["view", "rectify", "light", "classes", "bands", "advice"] as const;
export type StageName = (typeof STAGES)[number];

export interface Engines {
  readonly cv: OpenCv;
  /** What tells the classes apart; by default this photo's own colours. A learned model goes here. */
  readonly segment?: Segmenter;
}
export interface Job {
  readonly deck: Deck;
  readonly corners: CornersFile | null;
  readonly notes: Notes;
  readonly source: Source;
}
export interface Analysis {
  readonly reading: Reading;
  readonly deck: Deck;
  /** Null when the photo was unusable. */
  readonly classes: Classes | null;
}

/**
 * A photo in, advice out: the only file that knows the order of the stages.
 *
 * @throws {ViewError} when the corners are missing or cannot be a picture of this deck.
 */
export function analyse(
  engines: Engines,
  photo: Photo,
  job: Job,
  onStage: (stage: StageName) => void = () => {},
): Analysis {
  const { cv } = engines;
  const { corners, notes, source } = job;
  if (!corners) {
    throw new ViewError(
      "corners-missing",
      "Where the deck lies in this photo is not known yet. Give its corners: drag them on the page, or put a NAME.corners.json beside the photo.",
    );
  }
  const deck = handFrom(corners, job.deck);
  onStage("view");
  const view = viewFromCorners(cv, photo, deck, corners);
  onStage("rectify");
  const flat = rectify(cv, photo, deck, view);
  onStage("light");
  const even = evenLight(cv, flat, photo);
  onStage("classes");
  const classes = (engines.segment ?? segment)(cv, even, deck, view, notes);
  onStage("bands");
  const outlet = readOutlet(classes, deck, view);
  const measured = {
    outlet,
    bands: findBands(cv, classes, outlet, deck),
    dryPatches: findDryPatches(cv, classes),
    rills: findRills(cv, classes, deck),
    splitters: splitterPlaces(outlet, deck),
    launders: launderShares(outlet, deck),
  };
  onStage("advice");
  const reading = makeReading({ source, photo, deck, view, even, classes, pxPerMm: flat.pxPerMm, ...measured });
  return { reading: { ...reading, advice: advise(reading, deck, notes) }, deck, classes };
}

/** Without a deck file the corners' turn tells the hand. */
function handFrom({ corners }: CornersFile, deck: Deck): Deck {
  if (deck.scale === "deck file" || corners.length !== 4 || signedArea(corners) >= 0) return deck;
  const mirrored: DeckFileInput = { ...deck.file, hand: "left" };
  return { ...describeDeck(mirrored), scale: "assumed" };
}
