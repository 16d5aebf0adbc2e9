import type { OverlayWords } from "../vision/index.ts";
import { currentLanguage, say, splitterName } from "./words.ts";

/** What is written on a drawing that this device makes, in the language spoken. */
export const overlayWords = (): OverlayWords => ({
  dense: say("class.dense"),
  middling: say("class.middling"),
  light: say("class.light"),
  dry: say("class.dry"),
  unseen: say("class.unseen"),
  dryPatch: say("overlay.dryPatch"),
  rill: say("overlay.rill"),
  edge: say("overlay.edge"),
  splitterNow: say("flat.now"),
  splitterNext: say("overlay.splitterNext"),
  splitterNames: { upper: splitterName("upper"), lower: splitterName("lower") },
  rulerMm: say("overlay.rulerMm"),
  rulerPercent: say("overlay.rulerPercent"),
  bandsOn: say("overlay.bandsOn"),
  unreadable: say("kept.unusable"),
  language: currentLanguage(),
});
