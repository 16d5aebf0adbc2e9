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
  /** Correlation from one photo to the next, 0 where they know nothing of each other; `relatedness` estimates it. */
  readonly related?: number;
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
  const { photosBetweenFalseAlarms = 500, quantities = 1, related = 0 } = options;
  checked("Quantities", quantities, 1, 1000);
  checked("Correlation from photo to photo", related, 0, MOST_RELATED);
  const limits = widened(limitsFor(photosBetweenFalseAlarms * quantities * CHARTS), related);
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
    alarms.push({ ...fit, since, at: seen[i]!.index, by, open });
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

/** More than this is no noise about a level. */
const MOST_RELATED = 0.8;
/** Values in a stretch without a change, and in all, that tell how photos are related. */
const LEAST_STRETCH = 8;
const LEAST_RELATED = 40;

/** Values around an alarm that are left out of that: the change begins a little sooner than it is told, and goes on. */
const [SOONER, ON] = [4, 12];

/**
 * Correlation from one value to the next about straight lines between changes, 0 where it cannot be told from none.
 *
 * @param values  In order of time. Not modified.
 * @param alarms  What left its level, by index of the values; left out with what lies around it.
 * Source: lag-1 autocorrelation with its limit 2 / √n: Box & Jenkins, Time Series Analysis, ch. 2; its bias (1 + 3 r) / n
 * for each number that is fitted: Marriott & Pope (1954), Biometrika 41, 390 (both from memory).
 */
export function relatedness(values: readonly number[], alarms: readonly Pick<Alarm, "at" | "since">[]): number {
  const stretches: number[][] = [[]];
  values.forEach((value, i) => {
    if (alarms.some(({ at, since }) => i >= since - SOONER && i <= at + ON)) stretches.push([]);
    else stretches.at(-1)!.push(value);
  });
  const told = stretches.filter((stretch) => stretch.length >= LEAST_STRETCH).map(aboutLine);
  const count = told.reduce((sum, stretch) => sum + stretch.length, 0);
  const squares = told.flat().reduce((sum, off) => sum + off ** 2, 0);
  if (count < LEAST_RELATED || squares === 0) return 0;
  const products = told.reduce((sum, offs) => sum + offs.reduce((own, off, i) => own + off * (offs[i - 1] ?? 0), 0), 0);
  const found = products / squares;
  const corrected = found + ((1 + 3 * found) * 2 * told.length) / count;
  return corrected < 2 / Math.sqrt(count) ? 0 : Math.min(MOST_RELATED, corrected);
}

/** How far each value lies off the straight line through them all. */
function aboutLine(values: readonly number[]): number[] {
  const middle = (values.length - 1) / 2;
  const mean = values.reduce((sum, value) => sum + value, 0) / values.length;
  const spread = values.reduce((sum, _, i) => sum + (i - middle) ** 2, 0);
  const slope = values.reduce((sum, value, i) => sum + (i - middle) * (value - mean), 0) / spread;
  return values.map((value, i) => value - mean - slope * (i - middle));
}

/**
 * Limits for values that are related: an exponentially weighted mean of them varies by (1 + φ(1 − λ)) / (1 − φ(1 − λ)) as
 * much, a sum by (1 + φ) / (1 − φ) in the long run; its limit grows as that variance, since its slack stays.
 *
 * Source: Schmid (1997), in Frontiers in Statistical Quality Control 5, for the mean (from memory); the sum by the
 * variance of a long sum of a first-order process, Box & Jenkins, as above.
 */
function widened({ ewma, cusum, single }: ChartLimits, related: number): ChartLimits {
  const of = (share: number) => (1 + share) / (1 - share);
  return {
    ewma: { ...ewma, width: ewma.width * Math.sqrt(of(related * (1 - ewma.weight))) },
    cusum: { ...cusum, limit: cusum.limit * of(related) },
    single,
  };
}

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
