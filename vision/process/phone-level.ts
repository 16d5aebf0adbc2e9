import { said } from "../said.ts";
import { type Measured, meanOf, ProcessError } from "./range.ts";
import { degreesFromMmPerM, mmPerMFromDegrees } from "./slope-units.ts";

/** Standard error of a phone's inclination that was not turned end for end, degrees (common practice: 0.1 to 0.3). */
export const UNTURNED_ERROR_DEGREES = 0.3;

export interface PhoneSlope {
  readonly degrees: Measured;
  readonly mmPerM: Measured;
  /** What the phone shows on a level place, degrees; null when it was not turned. */
  readonly offsetDegrees: Measured | null;
}

/**
 * Slope along one direction from a phone laid on the deck, stopped, and then turned end for end on the same place: half
 * the difference of the two means is the slope, half their sum the phone's own fault.
 *
 * @param asLaid  Readings in degrees, positive where the phone's top end is lower (or as the phone has it; stay with it).
 * @param turned  Readings with the phone turned by 180° on the same place; none: the fault stays in, and in the error.
 * @throws {ProcessError} `too-few-readings`, `out-of-range`; `out-of-range` too when the fault comes out above 5°, since
 *         then the phone was moved or turned over rather than end for end.
 */
export function slopeFromPhone(asLaid: readonly number[], turned: readonly number[] = []): PhoneSlope {
  const first = meanOf("Phone inclination, degrees", asLaid);
  if (turned.length === 0) {
    return slope(first.value, Math.hypot(first.error || 0, UNTURNED_ERROR_DEGREES), null);
  }
  const second = meanOf("Phone inclination turned, degrees", turned);
  const error = Math.hypot(spread(first), spread(second)) / 2;
  const offset = (first.value + second.value) / 2;
  if (Math.abs(offset) > 5) {
    throw new ProcessError(
      "out-of-range",
      said("said.table.phoneFault", { fault: { value: Math.round(offset * 10) / 10, unit: "degrees" } }),
    );
  }
  return slope((first.value - second.value) / 2, error, { value: offset, error });
}

/** Least step most phones show, degrees; one reading alone, or many alike, is no surer than this over √12. */
const SHOWN_STEP_DEGREES = 0.1;
const spread = (mean: Measured) => Math.max(mean.error || 0, SHOWN_STEP_DEGREES / Math.sqrt(12));

function slope(degrees: number, error: number, offsetDegrees: Measured | null): PhoneSlope {
  const mmPerM = mmPerMFromDegrees(degrees);
  const perDegree = (1000 * (1 + (mmPerM / 1000) ** 2) * Math.PI) / 180;
  return { degrees: { value: degrees, error }, mmPerM: { value: mmPerM, error: error * perDegree }, offsetDegrees };
}

/**
 * Slopes from one reading of gravity in a phone's own axes: x along the riffles, y across, z out of the deck; any unit.
 *
 * Sign: positive where that axis points uphill, as a phone at rest shows +1 g on an axis that points up.
 *
 * @throws {ProcessError} `out-of-range` when z is not above 0: the phone lies on its face or stands.
 */
export function slopesFromGravity(x: number, y: number, z: number) {
  if (!(z > 0)) throw new ProcessError("out-of-range", "Lay the phone flat on its back.");
  const [alongMmPerM, acrossMmPerM] = [(1000 * x) / z, (1000 * y) / z];
  return {
    alongMmPerM,
    acrossMmPerM,
    alongDegrees: degreesFromMmPerM(alongMmPerM),
    acrossDegrees: degreesFromMmPerM(acrossMmPerM),
    tiltDegrees: (Math.atan2(Math.hypot(x, y), z) * 180) / Math.PI,
  };
}
