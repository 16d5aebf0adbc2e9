import { findBands } from "./bands.ts";
import type { CornersFile, Reading } from "./contract/index.ts";
import { deckStateOf } from "./deck-state.ts";
import { ViewError } from "./errors.ts";
import { findView, type Located, withinRims } from "./finding/find-view.ts";
import { evenLight } from "./light.ts";
import type { DeckEyes } from "./model/deck-look.ts";
import type { FirstLook, Look } from "./model/first-look.ts";
import type { OpenCv } from "./opencv.ts";
import { readOutlet } from "./outlet.ts";
import { findDryPatches, findRills } from "./patches.ts";
import { launderShares, splitterPlaces } from "./products.ts";
import { makeReading, type Source, unusable } from "./reading.ts";
import { rectify } from "./rectify.ts";
import { advise } from "./rules.ts";
import { issueOf } from "./said.ts";
import { segment } from "./segment.ts";
import type { Classes, Deck, EvenDeck, FlatDeck, Notes, Photo, View } from "./stages.ts";

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
/** What a photo shows whatever people say of it: where the deck lies, in even light, as the network first sees it. */
export type Sight = { readonly deck: Deck; readonly issues: Located["issues"] } & (
  | { readonly isUsable: false }
  | {
      readonly isUsable: true;
      readonly view: View;
      readonly pxPerMm: FlatDeck["pxPerMm"];
      readonly even: EvenDeck;
      readonly first: FirstLook | undefined;
    }
);
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
  const sight = lookAtDeck(engines, photo, { ...job, firstCorner: job.notes.firstCorner }, onStage);
  return readSight(engines, photo, sight, job, onStage);
}

/** The stages that nothing changes but another photo, deck or other corners. @throws {ViewError} as `analyse`. */
export function lookAtDeck(
  engines: Engines,
  photo: Photo,
  { deck: described, corners, firstCorner }: Pick<Job, "deck" | "corners"> & Pick<Notes, "firstCorner">,
  onStage: (stage: StageName) => void = () => {},
): Sight {
  const { cv } = engines;
  onStage("view");
  let located: Located;
  try {
    located = findView(cv, photo, described, corners, engines.eyes, firstCorner);
  } catch (error) {
    const kind = error instanceof ViewError && NOT_PLACED[error.code];
    if (!kind) throw error;
    const issues = [error.said ? issueOf(kind, error.said) : { kind, say: error.message }];
    return { deck: described, issues, isUsable: false };
  }
  const { deck, issues, usable } = located;
  let { view } = located;
  if (!usable) return { deck, issues, isUsable: false };
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
  return { deck, issues, isUsable: true, view, pxPerMm: flat.pxPerMm, even: evenLight(cv, flat, photo), first };
}

/** The stages that hang on what people say: classes, bands, advice. The same sight can be read again with other notes. */
export function readSight(
  { cv }: Engines,
  photo: Photo,
  sight: Sight,
  { notes, source }: Pick<Job, "notes" | "source">,
  onStage: (stage: StageName) => void = () => {},
): Analysis {
  const { deck, issues } = sight;
  if (!sight.isUsable) return { reading: unusable(source, photo, issues), deck, classes: null };
  const { view, pxPerMm, even, first } = sight;
  onStage("classes");
  const classes = segment(cv, even, deck, view, notes, first);
  onStage("bands");
  const measured = measure(cv, classes, deck, view);
  onStage("advice");
  const reading = makeReading({
    source,
    model: first?.model,
    photo,
    deck,
    view,
    even,
    classes,
    pxPerMm,
    issues,
    deckState: deckStateOf(notes, issues),
    ...measured,
  });
  return { reading: { ...reading, advice: advise(reading, deck, notes) }, deck, classes };
}

/** What the classes of a deck amount to, in millimetres and shares. */
export function measure(cv: OpenCv, classes: Classes, deck: Deck, view: View) {
  const outlet = readOutlet(classes, deck, view);
  return {
    outlet,
    bands: findBands(cv, classes, outlet, deck),
    dryPatches: findDryPatches(cv, classes),
    rills: findRills(cv, classes, deck),
    splitters: splitterPlaces(outlet, deck),
    launders: launderShares(outlet, deck),
  };
}
