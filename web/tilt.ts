/** How far this phone lies tilted along its long side, from its own sensor. */

/** This device tells no tilt, or may not. */
export class NoTilt extends Error {}

/** The hand lets go, the phone comes to rest; then this long is measured, ms. */
const SETTLE_MS = 700;
const MEASURE_MS = 2000;

/**
 * Tilt along the phone's long side, degrees, several readings; positive where its top end is lower.
 *
 * @throws {NoTilt} where there is no sensor, or the person or the browser forbids it.
 */
export async function measureTilt(): Promise<number[]> {
  const ask = (globalThis.DeviceOrientationEvent as { requestPermission?: () => Promise<string> } | undefined)
    ?.requestPermission;
  if (ask && (await ask().catch(() => "denied")) !== "granted") throw new NoTilt();
  const readings: number[] = [];
  const begun = performance.now();
  let last: number | null = null;
  const hear = ({ beta }: DeviceOrientationEvent) => {
    if (beta === null) return;
    last = -beta; // beta: how far the top end is above the lower one (W3C, Device Orientation and Motion)
    if (performance.now() - begun > SETTLE_MS) readings.push(last);
  };
  addEventListener("deviceorientation", hear);
  await new Promise((resolve) => setTimeout(resolve, SETTLE_MS + MEASURE_MS));
  removeEventListener("deviceorientation", hear);
  // a phone at perfect rest may tell its tilt once only
  if (readings.length === 0 && last !== null) readings.push(last);
  if (readings.length === 0) throw new NoTilt();
  return readings;
}
