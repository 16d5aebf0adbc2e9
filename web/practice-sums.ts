/** What the practice deck is computed with: its only door to `vision/`. Loaded when it is opened, never with the page. */
export { type DeckLoad, loadOn } from "../vision/twin/deck-load.ts";
export {
  type GoalMet,
  goalsMet,
  looksAt,
  PRACTICE_CONTROLS,
  PRACTICE_DECK,
  PRACTICE_FEEDS,
  PRACTICE_START,
  PRACTICE_TASKS,
  type PracticeControl,
  type PracticeFeed,
  type PracticeLook,
  type PracticeResult,
  type PracticeStand,
  type PracticeTask,
  practise,
  twinSettingsOf,
} from "../vision/twin/practice.ts";
export { FIRST_GUESS, type GrainFlow, grainFlows, strayMm } from "../vision/twin/transport.ts";
