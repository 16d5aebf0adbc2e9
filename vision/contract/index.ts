/** Every stored or exchanged document: its schema, from which types, JSON Schema and checks come. */
export { Controls, DeckFile, type DeckFileInput, Launder, Splitter } from "./deck-file.ts";
export {
  ContentId,
  DoneEvent,
  Health,
  NewReading,
  type NewReadingInput,
  PhotoReceipt,
  PREVIEW_PX,
  Problem,
  ReadingReceipt,
  Sample,
  SampleList,
  STAGE_NAMES,
  StageEvent,
} from "./http.ts";
export { AimFile, CornersFile, Look, MaterialProfile, SettingsFile, Tap, TapsFile } from "./notes.ts";
export { Band, DryPatch, Hint, QualityIssue, Reading, Rill } from "./reading.ts";
export { CLASS_NAMES, ClassName, DeckPair, OutletSpan, PhotoPair, Product, SchemaVersion } from "./shapes.ts";
