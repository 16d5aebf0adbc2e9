/** The door: every public name, in flow order. */
export { type BorderJudged, type Change, didItHelp, type Helped } from "./advice/did-it-help.ts";
export { rangeOf, setupFaults, setupFor } from "./advice/setup-guide.ts";
export {
  type Analysis,
  analyse,
  type Engines,
  type Eyes,
  type Job,
  lookAtDeck,
  readSight,
  type Sight,
  STAGES,
  type StageName,
} from "./analyse.ts";
export { type Merged, mergeBurst } from "./burst.ts";
export { describeDeck } from "./deck.ts";
export type { OverlayWords } from "./drawing/overlay-words.ts";
export { EngineError, NotesError, PhotoError, ViewError, VisionError } from "./errors.ts";
export { findView, type Located, withinRims } from "./finding/find-view.ts";
export { type Fitness, judgeFitness } from "./finding/fitness.ts";
export { estimateLens, type LensFound } from "./finding/lens.ts";
export { markerSheet, markSvg } from "./finding/marker-sheet.ts";
export { findOutline, type OutlineCandidate } from "./finding/outline.ts";
export { type Snapped, snapCorners } from "./finding/snap.ts";
export { pathLength } from "./geometry.ts";
export { project } from "./homography.ts";
export { evenLight } from "./light.ts";
export { lookDifferences } from "./likeness/differences.ts";
export { faultBasis } from "./likeness/faults.ts";
export { mainEdges, scoreTry } from "./likeness/lesson-score.ts";
export { LOOK_NUMBERS, lookOfMarks, lookOfReading, lookVector, outletMmOf } from "./likeness/look.ts";
export { nearest } from "./likeness/nearest.ts";
export { outletInPhoto, placeByView } from "./likeness/outlet-in-photo.ts";
export { classOverlap, edgeAgreement, type Marked } from "./mark-up/agreement.ts";
export { fromCoco, MarksError, toCoco } from "./mark-up/coco.ts";
export { bandEdges, stretchesOf } from "./mark-up/stretches.ts";
export { type DeckEyes, type DeckLook, loadDeckEyes } from "./model/deck-look.ts";
export { type FirstLook, type Look, loadFirstLook } from "./model/first-look.ts";
export { readyTensors, type WeightList } from "./model/network.ts";
export { loadOpenCv, type OpenCv } from "./opencv.ts";
export { readOutlet } from "./outlet.ts";
export { overlaySvg } from "./overlay.ts";
export { type Constituent, canBeTabled, type Pairing } from "./process/can-be-tabled.ts";
export { concentrationCriterion } from "./process/concentration-criterion.ts";
export { type Film, filmOn } from "./process/film.ts";
export {
  type FloatTest,
  floatSeconds,
  flowFromFloat,
  roughnessFromFloat,
  wettedLengthFromFloat,
} from "./process/float-test.ts";
export { shieldsRatio, slideRatio } from "./process/grain-transport.ts";
export { levelOf, shimsFor, slopeFromShim, twistOf } from "./process/levelling.ts";
export { MATERIALS, materialNamed } from "./process/materials.ts";
export { slopeFromPhone, slopesFromGravity } from "./process/phone-level.ts";
export { pulpDensity, solidsKgPerHour, solidsPercentOf } from "./process/pulp.ts";
export { type Measured, ProcessError } from "./process/range.ts";
export { equalSettlingSize, settle } from "./process/settling.ts";
export { springLift, strokeMotion } from "./process/stroke.ts";
export { type Water, waterAt } from "./process/water.ts";
export { flowFromCan, waterBudget } from "./process/water-budget.ts";
export { leastWholeFilm } from "./process/whole-film.ts";
export { launderShares } from "./products.ts";
export { type Source, unreadable, unusable, VERSION } from "./reading.ts";
export { gridOf, rectify } from "./rectify.ts";
export { advise } from "./rules.ts";
export { inEnglish, said, type Text } from "./said.ts";
export { photoPlace } from "./scene/camera.ts";
export { makeScene, type Scene, sketchScene } from "./scene/index.ts";
export { segment } from "./segment.ts";
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
export { bestCuts, type CutAim, type CutPlace, chanceOfFloor } from "./twin/cuts.ts";
export { judgeChange } from "./twin/did-it-help.ts";
export { fitTwin, type Seen } from "./twin/fit-twin.ts";
export { carriedShares, type OutletCurves, smeared } from "./twin/outlet-curves.ts";
export { predictOutlet, type TwinDeck, type TwinFeed, type TwinSettings } from "./twin/transport.ts";
export { fitHomography, viewFromCorners } from "./view.ts";
