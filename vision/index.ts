/** The door: every public name, in flow order. */
export { type Analysis, analyse, type Engines, type Job, STAGES, type StageName } from "./analyse.ts";
export { describeDeck } from "./deck.ts";
export { EngineError, NotesError, PhotoError, ViewError, VisionError } from "./errors.ts";
export { findView, type Located } from "./finding/find-view.ts";
export { type Fitness, judgeFitness } from "./finding/fitness.ts";
export { markerSheet, markSvg } from "./finding/marker-sheet.ts";
export { evenLight } from "./light.ts";
export { loadOpenCv, type OpenCv } from "./opencv.ts";
export { readOutlet } from "./outlet.ts";
export { overlaySvg } from "./overlay.ts";
export { type Source, unreadable, unusable, VERSION } from "./reading.ts";
export { gridOf, rectify } from "./rectify.ts";
export { advise } from "./rules.ts";
export { type Segmenter, segment } from "./segment.ts";
export type {
  Classes,
  Deck,
  DeckPoint,
  EvenDeck,
  FlatDeck,
  Grid,
  Notes,
  Outlet,
  Photo,
  PhotoPoint,
  View,
} from "./stages.ts";
export { fitHomography, project, viewFromCorners } from "./view.ts";
