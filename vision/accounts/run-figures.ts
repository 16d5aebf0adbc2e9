import type { Figure, RunRecord, RunSample, Told } from "../contract/index.ts";
import type { Measured } from "../process/range.ts";
import { said } from "../said.ts";
import type { Stream } from "./balances.ts";
import { AccountsError } from "./fault.ts";
import { propagate } from "./propagate.ts";
import { type Cut, LEAST_CUTS, massOver, rateOfCuts, type StreamRate } from "./timed-cuts.ts";

/**
 * Errors taken where a run gives none: judgement, for a kitchen scale, a watch in the hand and a works laboratory. `share`
 * is of the value, `least` in the kept unit.
 */
const USUAL = {
  masses: { share: 0.01, least: 0.001 },
  times: { share: 0, least: 0.5 },
  moistures: { share: 0, least: 1 },
  assays: { share: 0.05, least: 0 },
  hours: { share: 0.01, least: 0 },
  settings: { share: 0.05, least: 0 },
  prices: { share: 0.05, least: 0 },
  "shares won": { share: 0, least: 10 },
} as const;
type Usual = keyof typeof USUAL;

/** Fills in usual errors, and remembers how often. */
export class UsualErrors {
  private readonly taken = new Map<Usual, number>();

  of(figure: Figure, what: Usual): Measured {
    if (figure.error !== null) return { value: figure.value, error: figure.error };
    this.taken.set(what, (this.taken.get(what) ?? 0) + 1);
    const { share, least } = USUAL[what];
    return { value: figure.value, error: Math.max(share * Math.abs(figure.value), least) };
  }

  /** What was taken; nothing where every figure had its error. */
  say(): Told[] {
    const told = [...this.taken].map(([what, times]) => ({ code: `usual.${what}`, values: { times } }));
    return told.length === 0 ? [] : [...told, { code: "usual.mind", values: {} }];
  }
}

export interface StreamFigures extends Stream {
  /** Water that went with it, in the unit of the mass; null where it was not caught. */
  readonly water: Measured | null;
}

export interface RunFigures {
  readonly streams: readonly StreamFigures[];
  /** kg over the run; kg an hour where only timed cuts were taken and no hours told; or parts of the feed. */
  readonly unit: "kg" | "kg/h" | "of the feed";
  readonly notes: readonly Told[];
}

/** What a run's samples say of each stream. @throws {AccountsError} `too-few`, `out-of-range`, in the words of the sheet. */
export function figuresOfRun(run: RunRecord, usual: UsualErrors): RunFigures {
  const of = (stream: string, kind: RunSample["kind"]) =>
    run.samples.filter((sample) => sample.stream === stream && sample.kind === kind);
  const rates = new Map<string, StreamRate>();
  const weights = new Map<string, Weight>();
  for (const { name } of run.streams) {
    const [cuts, masses] = [of(name, "cut"), of(name, "mass")];
    if (cuts.length > 0) rates.set(name, rateOfCuts(cuts.map((cut) => cutOf(cut, usual))));
    if (masses.length > 0) weights.set(name, weightOf(masses, usual));
  }
  const hours = run.hours ? usual.of(run.hours, "hours") : null;
  if (rates.size > 0 && weights.size > 0 && !hours) {
    throw new AccountsError("too-few", said("said.runs.needHours"));
  }
  const over = (rate: Measured) => (hours ? massOver(rate, hours) : rate);
  const few = [...rates].filter(([, rate]) => rate.cuts < LEAST_CUTS).map(([name]) => name);
  const notes = [...(few.length > 0 ? [{ code: "note.fewCuts", values: { least: LEAST_CUTS, streams: few } }] : [])];
  const weighed = run.streams.map(({ name, from, to }): StreamFigures => {
    const [weight, rate] = [weights.get(name), rates.get(name)];
    const mass = weight?.dry ?? (rate ? over(rate.dryKgPerHour) : null);
    const water = weight ? weight.water : rate?.waterKgPerHour ? over(rate.waterKgPerHour) : null;
    return { name, from, to, mass, water, assays: assaysOf(of(name, "assay"), usual) };
  });
  if (weighed.some(({ mass }) => mass !== null)) {
    return { streams: weighed, unit: rates.size > 0 && !hours ? "kg/h" : "kg", notes };
  }
  const feeds = weighed.filter(({ from, to }) => from === null && to !== null);
  if (feeds.length !== 1) {
    throw new AccountsError("too-few", said("said.runs.nothingWeighed"));
  }
  return {
    streams: weighed.map((stream) => (stream === feeds[0] ? { ...stream, mass: { value: 1, error: 0 } } : stream)),
    unit: "of the feed",
    notes: [...notes, { code: "note.nothingWeighed", values: {} }],
  };
}

interface Weight {
  readonly dry: Measured;
  readonly water: Measured | null;
}

/** All buckets of a stream, added up. */
function weightOf(samples: readonly RunSample[], usual: UsualErrors): Weight {
  const each = samples.map((sample) => partsOf(sample, usual));
  const dry = each.map(({ wetKg, dryKg, moisturePercent }) => {
    if (dryKg) return dryKg;
    if (wetKg && moisturePercent) return dried(wetKg, moisturePercent);
    const { stream } = samples[0]!;
    throw new AccountsError("too-few", said("said.runs.needDry", { stream }));
  });
  const wet = each.flatMap(({ wetKg }) => (wetKg ? [wetKg] : []));
  const all = wet.length === each.length;
  return {
    dry: sumOf(dry),
    water: all ? sumOf([...wet, ...dry.map(({ value, error }) => ({ value: -value, error }))]) : null,
  };
}

const sumOf = (parts: readonly Measured[]): Measured => ({
  value: parts.reduce((sum, { value }) => sum + value, 0),
  error: Math.hypot(...parts.map(({ error }) => error)),
});
const dried = (wet: Measured, moisturePercent: Measured) =>
  propagate([wet, moisturePercent], ([kg, percent]) => kg! * (1 - percent! / 100));

function cutOf(sample: RunSample, usual: UsualErrors): Cut {
  const time = sample.figures.time;
  if (!time) {
    const values = { cut: sample.sample || "none", stream: sample.stream };
    throw new AccountsError("too-few", said("said.runs.cutNoTime", values));
  }
  return { ...partsOf(sample, usual), seconds: usual.of(time, "times") };
}

function partsOf({ figures }: RunSample, usual: UsualErrors) {
  const { wet, dry, moisture } = figures;
  return {
    wetKg: wet ? usual.of(wet, "masses") : null,
    dryKg: dry ? usual.of(dry, "masses") : null,
    moisturePercent: moisture ? usual.of(moisture, "moistures") : null,
  };
}

/** Mean of the replicates of each metal; from three on their spread counts where it is larger. */
function assaysOf(samples: readonly RunSample[], usual: UsualErrors): Record<string, Measured> {
  const metals = [...new Set(samples.flatMap(({ figures }) => Object.keys(figures)))];
  return Object.fromEntries(
    metals.map((metal) => {
      const all = samples.flatMap(({ figures }) => (figures[metal] ? [usual.of(figures[metal], "assays")] : []));
      const n = all.length;
      const total = sumOf(all);
      const mean = { value: total.value / n, error: total.error / n };
      const squares = all.reduce((sum, { value }) => sum + (value - mean.value) ** 2, 0);
      const spread = n >= 3 ? Math.sqrt(squares / (n - 1) / n) : 0;
      return [metal, { value: mean.value, error: Math.max(mean.error, spread) }];
    }),
  );
}
