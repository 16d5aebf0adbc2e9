import type { Measured } from "../process/range.ts";
import { checked } from "./fault.ts";
import { type Judged, reconcileAndJudge } from "./gross-errors.ts";
import { propagate } from "./propagate.ts";

/** Water on its way, with solids or alone; litres or kg an hour, as water is 1 kg/L. */
export interface WaterStream {
  readonly name: string;
  readonly from: string | null;
  readonly to: string | null;
  readonly water: Measured | null;
}

/**
 * Water that goes with dry solids: dry (100 / x − 1), in the unit of the solids.
 *
 * @param solidsPercent  By weight, above 0.
 * @throws {AccountsError} `out-of-range`.
 */
export function waterWith(dry: Measured, solidsPercent: Measured): Measured {
  checked("Dry solids", dry.value, 0);
  checked("Solids, % by weight", solidsPercent.value, 0.01, 100);
  return propagate([dry, solidsPercent], ([solids, percent]) => solids! * (100 / percent! - 1));
}

/**
 * Does the water that comes in leave again? Unmeasured streams come out where the others tell them.
 *
 * @throws {AccountsError} as `reconcile`.
 */
export function waterBalance(streams: readonly WaterStream[]): Judged {
  return reconcileAndJudge(streams.map(({ water, ...way }) => ({ ...way, mass: water, assays: {} })));
}
