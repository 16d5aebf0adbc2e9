/**
 * What is computed at the table, by the same code as everywhere else: the only door of the page to `vision/` outside the worker.
 * Loaded when the set-up is opened, never with the page.
 */
export { type Check, type SetupFault, type StepFor, setupFaults, setupFor } from "../vision/advice/setup-guide.ts";
export { describeDeck, FEED_SHARE } from "../vision/deck.ts";
export { VisionError } from "../vision/errors.ts";
export {
  flowFromFloat,
  HAND_TIMING_SECONDS,
  roughnessFromFloat,
  wettedLengthFromFloat,
} from "../vision/process/float-test.ts";
export { type Corners, shimsFor, slopeFromShim } from "../vision/process/levelling.ts";
export { type PhoneSlope, slopeFromPhone } from "../vision/process/phone-level.ts";
export { type Measured, meanOf } from "../vision/process/range.ts";
export { fallMm } from "../vision/process/slope-units.ts";
export { flowFromCan, waterBudget } from "../vision/process/water-budget.ts";
