import { solve } from "../linear-system.ts";
import { above0, type Measured, ProcessError } from "../process/range.ts";
import { CLASSES, type Class } from "./outlet-curves.ts";
import {
  FIRST_GUESS,
  middles,
  predictOutlet,
  type TwinDeck,
  type TwinFeed,
  type TwinParameters,
  type TwinSettings,
} from "./transport.ts";

/** One photo's bands with the settings they were seen at. */
export interface Seen {
  readonly settings: TwinSettings;
  readonly feed: TwinFeed;
  /** Middle of each class along the outlet, mm; leave out what was not seen. */
  readonly middleMm: Readonly<Partial<Record<Class, Measured>>>;
}
export interface TwinFit {
  readonly parameters: TwinParameters;
  /** One standard error of the logarithm of each fitted parameter: 0.1 is about 10 %. */
  readonly logErrors: Readonly<Record<Fitted, number>>;
  /** Root mean square of seen less predicted middles, mm. */
  readonly misfitMm: number;
}

/** What middles can tell of; spread and fullness show in widths and keep their values. With the doubt before any photo. */
const PRIOR = { drift: 1, friction: 0.3, climbMmPerM: 0.7 } as const;
type Fitted = keyof typeof PRIOR;
const NAMES = Object.keys(PRIOR) as Fitted[];
const LIMITS: Record<Fitted, readonly [number, number]> = {
  drift: [0.05, 50],
  friction: [0.1, 1.5],
  climbMmPerM: [5, 200],
};

/**
 * The twin's parameters that fit one or several readings best, held near the first guess where the readings are silent.
 *
 * Method: least squares of errors-weighted middles and log-normal priors, by Levenberg (1944) and Marquardt (1963) (from
 * memory), on logarithms, with slopes by differences.
 *
 * @throws {ProcessError} `too-few-readings` when no middle was seen; `out-of-range`.
 */
export function fitTwin(deck: TwinDeck, seen: readonly Seen[], start: TwinParameters = FIRST_GUESS): TwinFit {
  const places = seen.flatMap((one) =>
    CLASSES.flatMap((name) => {
      const middle = one.middleMm[name];
      if (middle) above0("Error of a middle, mm", middle.error);
      return middle ? [{ one, name, ...middle }] : [];
    }),
  );
  if (places.length === 0) throw new ProcessError("too-few-readings", "No band was seen: nothing can be fitted.");
  const withLogs = (logs: readonly number[]): TwinParameters => ({
    ...start,
    ...Object.fromEntries(NAMES.map((name, i) => [name, limited(name, start[name] * Math.exp(logs[i]!))])),
  });
  const misses = (logs: readonly number[]) => {
    const parameters = withLogs(logs);
    const predicted = new Map(
      seen.map((one) => [one, middles(predictOutlet(deck, one.settings, one.feed, parameters))] as const),
    );
    const photo = places.map((p) => (p.value - (predicted.get(p.one)![p.name] ?? 0)) / p.error);
    return [...photo, ...NAMES.map((name, i) => -logs[i]! / PRIOR[name])];
  };
  let logs = NAMES.map(() => 0);
  let now = misses(logs);
  let damping = 1e-3;
  let normal: number[][] = [];
  for (let step = 0; step < 30; step++) {
    const slopes = NAMES.map((_, k) => {
      const moved = misses(logs.map((value, i) => value + (i === k ? 1e-3 : 0)));
      return moved.map((miss, i) => (miss - now[i]!) / 1e-3);
    });
    normal = slopes.map((a) => slopes.map((b) => dot(a, b)));
    const damped = normal.map((row, i) => row.map((value, j) => (i === j ? value * (1 + damping) : value)));
    const change = solve(damped.map((row, i) => [...row, -dot(slopes[i]!, now)]));
    const next = logs.map((value, i) => value + Math.min(1, Math.max(-1, change[i]!)));
    const then = misses(next);
    const gain = dot(now, now) - dot(then, then);
    damping = gain > 0 ? damping / 5 : damping * 10;
    if (gain > 0) [logs, now] = [next, then];
    if (Math.abs(gain) < 1e-6 * (1 + dot(now, now)) || damping > 1e9) break;
  }
  const errors = NAMES.map((_, k) => Math.sqrt(solve(normal.map((row, i) => [...row, i === k ? 1 : 0]))[k]!));
  const squares = places.reduce((sum, { error }, i) => sum + (now[i]! * error) ** 2, 0);
  return {
    parameters: withLogs(logs),
    logErrors: { drift: errors[0]!, friction: errors[1]!, climbMmPerM: errors[2]! },
    misfitMm: Math.sqrt(squares / places.length),
  };
}

const limited = (name: Fitted, value: number) => Math.min(Math.max(value, LIMITS[name][0]), LIMITS[name][1]);
const dot = (a: readonly number[], b: readonly number[]) => a.reduce((sum, value, i) => sum + value * b[i]!, 0);
