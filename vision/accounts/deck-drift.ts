import { type Drift, type DriftChart, type DriftEvent, type Reading, type Told, WATCHED } from "../contract/index.ts";
import { AccountsError } from "./fault.ts";
import { likelyCause, type NotedChange } from "./likely-cause.ts";
import { type Alarm, relatedness, watch } from "./watch.ts";

/** One photo of a deck, in order of time. */
export interface DriftPhoto {
  /** As text that sorts by time. */
  readonly at: string;
  readonly reading: Reading;
  /** What must be alike for readings to be held against each other: version of the deck file and of the program. */
  readonly measuredBy: string;
}

type Series = Pick<DriftChart, "quantity" | "unit" | "values" | "errors">;

/** Bar for false alarms, all charts of a deck together. */
const PHOTOS_BETWEEN = 500;
/** Alarms whose changes begin within so many photos are one event. */
const TOGETHER = 5;
/** Photos by which the beginning of a change is told too late. */
const SINCE_ERROR = 2;
/** How far off the photo after one that stands alone must be, of that one's distance (judgement). */
const CONFIRMING = 0.5;
/** A quantity is watched where it was seen, and not 0, in at least this share of the photos, and this often. */
const OFTEN = 0.5;
const LEAST = 12;

/**
 * Control charts of what a deck's photos tell, with events and their likely cause.
 *
 * @param photos   Usable readings in order of time. Not modified.
 * @param changes  What people wrote down that they changed.
 */
export function driftOf(photos: readonly DriftPhoto[], changes: readonly NotedChange[] = []): Omit<Drift, "photos"> {
  const stretches = stretchesOf(photos.map(({ measuredBy }) => measuredBy));
  const all = seriesOf(photos.map(({ reading }) => reading));
  const [newest] = stretches.slice(-1);
  const seen = all.filter(({ values }) => newest && isSeen(values.slice(newest.from, newest.to)));
  const charts = seen.map((series) => chartOf(series, stretches, seen.length));
  const events = eventsOf(charts).map((event) => ({
    ...event,
    cause: likelyCause(event, {
      before: photos[Math.max(0, event.since - SINCE_ERROR)]!.at,
      until: photos[event.at]!.at,
      changes,
    }),
  }));
  return {
    charts,
    events,
    notes: notesOf(photos.length, all, seen, stretches),
    photosBetweenFalseAlarms: PHOTOS_BETWEEN,
  };
}

/** What readings tell, quantity by quantity. Places are left out where the deck's size is a guess. */
export function seriesOf(readings: readonly Reading[]): Series[] {
  return WATCHED.map((quantity): Series => {
    const [of, what] = quantity.split(" ") as [keyof NonNullable<Reading["cover"]>, "from" | "to" | "cover"];
    const found = readings.map((reading) => (what === "cover" ? coverOf(reading, of) : edgeOf(reading, of, what)));
    return {
      quantity,
      unit: what === "cover" ? "%" : "mm",
      values: found.map((one) => one?.value ?? null),
      errors: found.map((one) => one?.error ?? null),
    };
  });
}

function coverOf({ cover }: Reading, kind: keyof NonNullable<Reading["cover"]>) {
  if (!cover || cover.unseen >= 1) return null;
  return { value: (100 * cover[kind]) / (1 - cover.unseen), error: null };
}

/** Where a band begins or ends on the outlet; the outlet's own ends are no edges. */
function edgeOf({ bands, scale }: Reading, kind: string, edge: "from" | "to") {
  const outlet = bands.filter((band) => band.kind === kind).flatMap((band) => band.outlet);
  if (scale === "assumed" || outlet.length === 0) return null;
  const far = outlet.reduce((a, b) => ((edge === "from" ? b.fromMm < a.fromMm : b.toMm > a.toMm) ? b : a));
  const [value, error] = edge === "from" ? [far.fromMm, far.fromErrorMm] : [far.toMm, far.toErrorMm];
  return error === null ? null : { value, error };
}

const isSeen = (values: readonly (number | null)[]) => {
  const told = values.filter((value) => value !== null && value !== 0);
  return told.length >= LEAST && told.length >= OFTEN * values.length && new Set(told).size > 1;
};

interface Stretch {
  readonly from: number;
  readonly to: number;
}
function stretchesOf(by: readonly string[]): Stretch[] {
  const starts = by.flatMap((name, i) => (i === 0 || name !== by[i - 1] ? [i] : []));
  return starts.map((from, i) => ({ from, to: starts[i + 1] ?? by.length }));
}

function chartOf(series: Series, stretches: readonly Stretch[], quantities: number): DriftChart {
  const options = { photosBetweenFalseAlarms: PHOTOS_BETWEEN, quantities };
  const watched = stretches.map(({ from, to }) => {
    const values = series.values.slice(from, to);
    try {
      const first = watch(values, options);
      const seen = values.flatMap((value, i) => (value === null ? [] : [{ value, i }]));
      const place = (index: number) => seen.findIndex(({ i }) => i >= index);
      const related = relatedness(
        seen.map(({ value }) => value),
        first.alarms.map(({ at, since }) => ({ at: place(at), since: place(since) })),
      );
      return { from, ...(related === 0 ? first : watch(values, { ...options, related })) };
    } catch (error) {
      if (error instanceof AccountsError && error.code === "too-few") return { from, ...watch([], options) };
      throw error;
    }
  });
  const { limits, level, sd } = watched.at(-1)!;
  const { weight, width } = limits.ewma;
  return {
    ...series,
    points: watched.flatMap(({ from, points }) =>
      points.map(({ index, ewma, sumUp, sumDown }) => ({ index: from + index, ewma, sumUp, sumDown })),
    ),
    limits: { ewma: width * Math.sqrt(weight / (2 - weight)), cusum: limits.cusum.limit, single: limits.single },
    level,
    sd,
    alarms: watched.flatMap(({ from, alarms }, i) =>
      alarms
        .filter((alarm) => isConfirmed(series.values.slice(from, stretches[i]!.to), alarm))
        .map(({ at, since, by, kind, size, perValue, open }) => {
          return { at: from + at, since: from + since, by, kind, size, perPhoto: perValue, open };
        }),
    ),
  };
}

/** One photo alone that stands far off may be misread: the next one must be off at least half as far. */
function isConfirmed(values: readonly (number | null)[], { by, at, since }: Alarm): boolean {
  if (by !== "single value") return true;
  const before = values.slice(0, since).filter((value) => value !== null);
  const next = values.slice(at + 1).find((value) => value !== null);
  if (next === undefined) return false;
  const level = before.reduce((sum, value) => sum + value, 0) / before.length;
  return (next - level) / (values[at]! - level) >= CONFIRMING;
}

/** Alarms of all charts that begin together. */
function eventsOf(charts: readonly DriftChart[]): Omit<DriftEvent, "cause">[] {
  const all = charts
    .flatMap((chart) => chart.alarms.map((alarm) => ({ chart, alarm })))
    .toSorted((a, b) => a.alarm.since - b.alarm.since);
  const groups: (typeof all)[] = [];
  for (const one of all) {
    const last = groups.at(-1);
    if (last && one.alarm.since - last.at(-1)!.alarm.since <= TOGETHER) last.push(one);
    else groups.push([one]);
  }
  return groups.map((group) => {
    // the one that left its own level farthest tells the kind
    const farthest = group.reduce((a, b) => (reach(b) > reach(a) ? b : a));
    const moved = new Map(group.map(({ chart, alarm }) => [chart.quantity, { chart, alarm }]));
    return {
      at: Math.min(...group.map(({ alarm }) => alarm.at)),
      since: Math.min(...group.map(({ alarm }) => alarm.since)),
      kind: farthest.alarm.kind,
      moved: [...moved].map(([quantity, { chart, alarm }]) => ({ quantity, size: alarm.size, unit: chart.unit })),
    };
  });
}
const reach = ({ chart, alarm }: { chart: DriftChart; alarm: DriftChart["alarms"][number] }) =>
  Math.abs(alarm.size) / (chart.sd ?? 1);

function notesOf(
  photos: number,
  all: readonly Series[],
  seen: readonly Series[],
  stretches: readonly Stretch[],
): Told[] {
  const left = all.filter(
    (series) => !seen.includes(series) && series.values.some((value) => value !== null && value !== 0),
  );
  const quantities = left.map(({ quantity }) => quantity);
  return [
    ...(photos < LEAST ? [{ code: "drift.few", values: { least: LEAST, photos } }] : []),
    ...(photos >= LEAST && left.length > 0 ? [{ code: "drift.seldom", values: { quantities } }] : []),
    ...(stretches.length > 1 ? [{ code: "drift.anew", values: {} }] : []),
    { code: "drift.related", values: {} },
  ];
}
