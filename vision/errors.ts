import { inEnglish, type Text } from "./said.ts";

/**
 * Everything vision/ throws on purpose. Match on `code`, which is stable; the message is for people, and `said` the same in any
 * language, where it stands in `sentences/`.
 */
export class VisionError<Code extends string = string> extends Error {
  readonly code: Code;
  readonly said: Text | null;
  constructor(code: Code, told: string | Text) {
    super(typeof told === "string" ? told : inEnglish(told));
    this.name = new.target.name;
    this.code = code;
    this.said = typeof told === "string" ? null : told;
  }
}
/** The photo cannot be used. Taking another one mends it. */
export class PhotoError extends VisionError<
  | "photo-empty"
  | "photo-not-an-image"
  | "photo-format"
  | "photo-broken"
  | "photo-too-small"
  | "photo-too-large"
  | "photo-timeout"
> {}
/** The corners do not frame a flat deck. Moving them mends it. */
export class ViewError extends VisionError<
  | "corners-missing"
  | "turn-unsure"
  | "corners-count"
  | "corners-cross"
  | "corners-hand"
  | "corners-small"
  | "corners-outside"
  | "marks-disagree"
> {}
/** A deck, taps, settings or other typed-in file contradicts itself. Correcting it mends it. */
export class NotesError extends VisionError<"deck-file" | "corners-file" | "taps-file" | "notes-file"> {}
/** OpenCV failed. Nobody standing at the table can mend it. */
export class EngineError extends VisionError<"engine-failed"> {}
