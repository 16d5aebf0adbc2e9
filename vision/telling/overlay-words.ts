import type { OverlayWords } from "../drawing/overlay-words.ts";
import { splitterName } from "./names.ts";
import type { Speech } from "./speech.ts";

/** What is written on a drawing, in whatever language. @param language  BCP 47. */
export const overlayWords = (speech: Speech, language: string): OverlayWords => ({
  dense: speech.say("class.dense"),
  middling: speech.say("class.middling"),
  light: speech.say("class.light"),
  dry: speech.say("class.dry"),
  unseen: speech.say("class.unseen"),
  dryPatch: speech.say("overlay.dryPatch"),
  rill: speech.say("overlay.rill"),
  edge: speech.say("overlay.edge"),
  splitterNow: speech.say("flat.now"),
  splitterNext: speech.say("overlay.splitterNext"),
  splitterNames: { upper: splitterName(speech, "upper"), lower: splitterName(speech, "lower") },
  rulerMm: speech.say("overlay.rulerMm"),
  rulerPercent: speech.say("overlay.rulerPercent"),
  bandsOn: speech.say("overlay.bandsOn"),
  unreadable: speech.say("kept.unusable"),
  language,
});
