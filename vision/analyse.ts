import { findBands } from "./bands.ts";
import type { CornersFile, Reading } from "./contract/index.ts";
import { deckStateOf } from "./deck-state.ts";
import { ViewError } from "./errors.ts";
import { findView, type Located, withinRims } from "./finding/find-view.ts";
import { evenLight } from "./light.ts";
import type { DeckEyes } from "./model/deck-look.ts";
import type { Look } from "./model/first-look.ts";
import type { OpenCv } from "./opencv.ts";
import { readOutlet } from "./outlet.ts";
import { findDryPatches, findRills } from "./patches.ts";
import { launderShares, splitterPlaces } from "./products.ts";
import { makeReading, type Source, unusable } from "./reading.ts";
import { rectify } from "./rectify.ts";
import { advise } from "./rules.ts";
import { issueOf } from "./said.ts";
import { segment } from "./segment.ts";
import type { Classes, Deck, Notes, Photo } from "./stages.ts";

export const STAGES = ["view", "rectify", "light", "classes", "bands", "advice"] as const;
export type StageName = (typeof STAGES)[number];

/** What the networks see: where the deck lies, which way round, and what is where on it. */
export interface Eyes extends DeckEyes {
  readonly lookAt: Look;
}
export interface Engines {
  readonly cv: OpenCv;
  /** The learned networks; without them the photo's own edges and colours alone tell. */
  readonly eyes?: Eyes;
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

/** Errors that a photo without corners may meet, as what is wrong with the photo. */
const NOT_PLACED: Partial<Record<ViewError["code"], string>> = {
  "corners-missing": "no-deck",
  "turn-unsure": "turn-unsure",
};

/**
 * A photo in, advice out: the only file that knows the order of the stages.
 *
 * @throws {ViewError} when corners or marks cannot be a picture of this deck. Where no deck is seen, or not which way
 * round it lies, the reading is unusable.
 */
export function analyse(
  engines: Engines,
  photo: Photo,
  job: Job,
  onStage: (stage: StageName) => void = () => {},
): Analysis {
  const { cv } = engines;
  const { corners, notes, source } = job;
  onStage("view");
  let located: Located;
  try {
    located = findView(cv, photo, job.deck, corners, engines.eyes, notes.firstCorner);
  } catch (error) {
    const kind = error instanceof ViewError && NOT_PLACED[error.code];
    if (!kind) throw error;
    const issues = [error.said ? issueOf(kind, error.said) : { kind, say: error.message }];
    return { reading: unusable(source, photo, issues), deck: job.deck, classes: null };
  }
  const { deck, issues, usable } = located;
  let { view } = located;
  if (!usable) return { reading: unusable(source, photo, issues), deck, classes: null };
  onStage("rectify");
  let flat = rectify(cv, photo, deck, view);
  let first = engines.eyes?.lookAt(flat);
  if (first) {
    const within = withinRims(cv, photo, deck, view, first);
    if (within !== view) {
      view = within;
      flat = rectify(cv, photo, deck, view);
      first = engines.eyes?.lookAt(flat);
    }
  }
  onStage("light");
  const even = evenLight(cv, flat, photo);
  onStage("classes");
  const classes = segment(cv, even, deck, view, notes, first);
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
  const reading = makeReading({
    source,
    model: first?.model,
    photo,
    deck,
    view,
    even,
    classes,
    pxPerMm: flat.pxPerMm,
    issues,
    deckState: deckStateOf(notes, issues),
    ...measured,
  });
  return { reading: { ...reading, advice: advise(reading, deck, notes) }, deck, classes };
}
