import { AccountsError, checked } from "./fault.ts";
import { type ChangeFit, kindOfChange } from "./kind-of-change.ts";
import { OwnScale } from "./own-scale.ts";
import { type ChartLimits, limitsFor } from "./run-lengths.ts";

/** One value on the charts; all in standard deviations of the run so far. */
export interface ChartPoint {
  readonly index: number;
  readonly value: number;
  readonly ewma: number;
  readonly sumUp: number;
  readonly sumDown: number;
}

export interface Alarm extends ChangeFit {
  /** Index of the value that raised it. */
  readonly at: number;
  /** Which chart spoke. */
  readonly by: "EWMA" | "CUSUM" | "single value";
  /** Whether later values may still tell its kind. */
  readonly open: boolean;
  /** What it means at the table and what to look at. */
  readonly say: string;
}

export interface Watched {
  readonly limits: ChartLimits;
  readonly points: readonly ChartPoint[];
  readonly alarms: readonly Alarm[];
  /** Level and spread now, in the unit of the values; null before the third. */
  readonly level: number | null;
  readonly sd: number | null;
}

export interface WatchOptions {
  /** Photos between two false alarms, all quantities together. */
  readonly photosBetweenFalseAlarms?: number;
  /** Quantities that are watched side by side, each in a call of its own: they share the false alarms. */
  readonly quantities?: number;
}

/** Three charts share the false alarms too. */
const CHARTS = 3;
/** Values shown before charts alarm: fewer teach no level. */
const SETTLING = 10;
/** After so many further values the charts begin anew; so many may still change what kind it is called. */
const AFTER = 6;
const TELLING = 20;
/** Values that a change is sought in. */
const LOOK_BACK = 100;

/**
 * Watch one quantity, such as the edge of a band in mm, from photo to photo.
 *
 * False alarms come once in `photosBetweenFalseAlarms` (500) photos at most, if photos are independent: of photos taken
 * closer than the feed's own swings, give the mean. Measured after 50 quiet photos, over half and nine tenths of cases: a
 * lasting step of one sd is found within 13 and 45 photos, one of two sd within 5 and 9, a drift of a tenth sd a photo
 * within 15 and 20.
 *
 * @param values  In order of time; null where the quantity was not seen. Not modified.
 * @throws {AccountsError} `out-of-range`; `too-few` when all values are the same: nothing says what is much.
 */
export function watch(values: readonly (number | null)[], options: WatchOptions = {}): Watched {
  const { photosBetweenFalseAlarms = 500, quantities = 1 } = options;
  checked("Quantities", quantities, 1, 1000);
  const limits = limitsFor(photosBetweenFalseAlarms * quantities * CHARTS);
  const seen = values.flatMap((value, index) => (value === null ? [] : [{ index, value }]));
  for (const { value } of seen) checked("Value", value, -Number.MAX_VALUE);
  const series = seen.map(({ value }) => value);
  if (series.length > SETTLING && series.every((value) => value === series[0])) {
    throw new AccountsError("too-few", "All values are the same: measure more finely, or check that it is measured.");
  }
  const points: ChartPoint[] = [];
  const alarms: Alarm[] = [];
  let [scale, charts, begun] = [new OwnScale(), new Charts(limits), 0];
  for (let i = 0; i < series.length; i++) {
    const z = scale.place(series[i]!);
    const by = z === null ? null : charts.take(z, scale.learned >= SETTLING);
    if (z !== null) points.push({ index: seen[i]!.index, value: z, ...charts.state });
    if (!by) {
      scale.learn(series[i]!);
      continue;
    }
    const until = Math.min(series.length, i + 1 + AFTER);
    const from = Math.max(begun, i - LOOK_BACK);
    const now = kindOfChange(series.slice(from, until));
    const fit = kindOfChange(series.slice(from, i + 1 + TELLING));
    const since = seen[from + fit.since]!.index;
    const open = series.length < i + 1 + TELLING;
    alarms.push({ ...fit, since, at: seen[i]!.index, by, open, say: sayChange(fit) });
    // a surge passes and the level before it holds; else a new one is learned
    if (now.kind !== "surge") begun = until;
    scale = new OwnScale();
    for (const value of series.slice(begun, from + now.since)) scale.learn(value);
    charts = new Charts(limits);
    i = until - 1;
  }
  const known = scale.learned > 2;
  return { limits, points, alarms, level: known ? scale.level : null, sd: known ? scale.sd : null };
}

/** What each kind of change means at the table, and what to look at (common practice). */
export const MEANINGS = {
  surge: "It left its level for a while and came back: the feed surges. Steady it first: sump, pump, feeding by hand.",
  step: "It changed at once and stayed. Look for what was moved or changed just then: valve, splitter, slope, another feed, the camera.",
  drift:
    "It creeps one way. Restore water and level, look for a pipe that clogs or a part that wears, then move the splitters.",
  open: "It has left its level. The next photos tell whether it stays, comes back or moves on.",
} as const;

const sayChange = ({ kind }: ChangeFit): string => MEANINGS[kind ?? "open"];

class Charts {
  private ewma = 0;
  private sumUp = 0;
  private sumDown = 0;
  constructor(private readonly limits: ChartLimits) {}

  get state() {
    return { ewma: this.ewma, sumUp: this.sumUp, sumDown: this.sumDown };
  }

  /** Which chart alarms at this value, if any; before the level is settled none does. */
  take(z: number, settled: boolean): Alarm["by"] | null {
    const { ewma, cusum, single } = this.limits;
    this.ewma = (1 - ewma.weight) * this.ewma + ewma.weight * z;
    this.sumUp = Math.max(0, this.sumUp + z - cusum.slack);
    this.sumDown = Math.max(0, this.sumDown - z - cusum.slack);
    if (!settled) return null;
    if (Math.abs(z) > single) return "single value";
    if (Math.max(this.sumUp, this.sumDown) > cusum.limit) return "CUSUM";
    return Math.abs(this.ewma) > ewma.width * Math.sqrt(ewma.weight / (2 - ewma.weight)) ? "EWMA" : null;
  }
}
