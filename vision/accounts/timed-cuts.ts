import { type Measured, meanOf } from "../process/range.ts";
import { said } from "../said.ts";
import { AccountsError, checked } from "./fault.ts";
import { propagate } from "./propagate.ts";

/** The whole of one stream, caught for some time. */
export interface Cut {
  /** With its water, less the bucket. */
  readonly wetKg: Measured | null;
  /** After drying; null when only the moisture of a part was taken. */
  readonly dryKg: Measured | null;
  /** Water in the wet cut, % of its weight; read where `dryKg` is null. */
  readonly moisturePercent: Measured | null;
  readonly seconds: Measured;
}

export interface StreamRate {
  readonly dryKgPerHour: Measured;
  /** Null when no cut was weighed wet, or not every one. */
  readonly waterKgPerHour: Measured | null;
  /** Solids by weight of the pulp; null like the water. */
  readonly solidsPercent: Measured | null;
  readonly cuts: number;
  /** What the error comes from: how cuts differ, or scale and watch alone, which say nothing of a stream that swings. */
  readonly errorFrom: "spread of cuts" | "scale and watch";
}

/** From this many cuts their spread counts. Fewer say too little of it. Source: at least three increments (common practice). */
export const LEAST_CUTS = 3;

/**
 * Solids and water of a stream from timed cuts: all that was caught over all seconds.
 *
 * @returns errors from scale and watch or, from three cuts on, from the spread of the cuts where that is larger.
 * @throws {AccountsError} `too-few` without a cut, or for one whose dry weight cannot be told; `out-of-range`.
 */
export function rateOfCuts(cuts: readonly Cut[]): StreamRate {
  if (cuts.length === 0) throw new AccountsError("too-few", "Take at least one timed cut; three tell its spread.");
  const dry = cuts.map(dryOf);
  const seconds = cuts.map((cut) => {
    checked("Seconds of a cut", cut.seconds.value, 0.1);
    return cut.seconds;
  });
  const solids = rate(dry, seconds);
  const wet = cuts.flatMap(({ wetKg }) => (wetKg ? [wetKg] : []));
  const all = wet.length === cuts.length;
  cuts.forEach(({ wetKg }, i) => {
    if (wetKg) checked("Wet weight of a cut less its dry weight, kg", wetKg.value - dry[i]!.value, 0);
  });
  const water = cuts.map(({ wetKg }, i) => (wetKg ? difference(wetKg, dry[i]!) : dry[i]!));
  return {
    dryKgPerHour: solids,
    waterKgPerHour: all ? rate(water, seconds) : null,
    solidsPercent: all
      ? propagate([...dry, ...wet], (v) => (100 * sum(v.slice(0, cuts.length))) / sum(v.slice(cuts.length)))
      : null,
    cuts: cuts.length,
    errorFrom: cuts.length >= LEAST_CUTS ? "spread of cuts" : "scale and watch",
  };
}

/** kg an hour of what was caught in these seconds. */
function rate(kg: readonly Measured[], seconds: readonly Measured[]): Measured {
  const count = kg.length;
  const of = (v: readonly number[]) => (3600 * sum(v.slice(0, count))) / sum(v.slice(count));
  const byTools = propagate([...kg, ...seconds], of);
  if (count < LEAST_CUTS) return byTools;
  const each = kg.map(({ value }, i) => (3600 * value) / seconds[i]!.value);
  return { value: byTools.value, error: Math.max(byTools.error, meanOf("Rate of a cut, kg/h", each).error) };
}

function dryOf({ wetKg, dryKg, moisturePercent }: Cut): Measured {
  if (dryKg) {
    checked("Dry weight of a cut, kg", dryKg.value, 0);
    return dryKg;
  }
  if (!wetKg || !moisturePercent) {
    throw new AccountsError("too-few", said("said.runs.cutNeedsDry"));
  }
  checked("Moisture, % of the wet weight", moisturePercent.value, 0, 100);
  return propagate([wetKg, moisturePercent], ([wet, moisture]) => wet! * (1 - moisture! / 100));
}

/**
 * Moisture of a part that was weighed wet and dry, % of its wet weight.
 *
 * @throws {AccountsError} `out-of-range` when it weighs more dry than wet.
 */
export function moistureOf(wetKg: Measured, dryKg: Measured): Measured {
  checked("Wet weight, kg", wetKg.value, Number.MIN_VALUE);
  checked("Dry weight, kg", dryKg.value, 0, wetKg.value);
  return propagate([wetKg, dryKg], ([wet, dry]) => 100 * (1 - dry! / wet!));
}

/** Dry kg that a stream carried in a run of so many hours. @throws {AccountsError} `out-of-range`. */
export function massOver(dryKgPerHour: Measured, hours: Measured): Measured {
  checked("Hours of the run", hours.value, 0);
  return propagate([dryKgPerHour, hours], ([perHour, h]) => perHour! * h!);
}

const difference = (a: Measured, b: Measured): Measured => ({
  value: a.value - b.value,
  error: Math.hypot(a.error, b.error),
});
const sum = (values: readonly number[]) => values.reduce((total, v) => total + v, 0);
