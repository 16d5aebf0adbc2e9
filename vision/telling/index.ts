/** The door to how things are said in whatever language; the words themselves are handed in. */
export { BASIS_WORDS, type ChangeSaid, EDGE_COUNT, type HintUnits, hintOrder, surenessOf } from "./hint-order.ts";
export { moneyLines } from "./money-words.ts";
export {
  CONTROL_WORDS,
  checkName,
  controlName,
  itemName,
  KIND_WORDS,
  PENALTY_WORDS,
  PRICE_WORDS,
  STREAM_WORDS,
  splitterName,
  streamName,
  watchedName,
} from "./names.ts";
export { overlayWords } from "./overlay-words.ts";
export { noteOf, referenceText, stuffOf, titleOf } from "./reference-words.ts";
export { knownSettings, SEEN_WORDS, settingsLines } from "./settings-words.ts";
export { measured, type Speech, timeOf } from "./speech.ts";
export { causeWords, chartWords, checkWords, eventTitle, meaningOf, movedWords, tell } from "./told.ts";
export { weightUp } from "./weight.ts";
