import {
  PENALTIES,
  type PenaltyName,
  PRICES,
  type RunAbout,
  type RunEntry,
  type RunRecord,
  type RunSample,
  type RunStream,
} from "../contract/index.ts";
import { quantityOf, RowFault, streamsWith } from "./sheet-rows.ts";

/** What is known of a run before anything is written down. */
export type RunHead = Required<Pick<RunAbout, "name" | "site" | "material" | "startedAt" | "endedAt">>;

/**
 * Entries, in the order in which they were written down → the run.
 *
 * Of what can be told once only (the run as a whole, a stream, a price) the later word counts. Samples of one kind, stream
 * and name are one sample, as long as no figure of theirs is there twice: a cut is weighed wet now and dry tomorrow. Else the
 * later one gets the next free number, since two people who both wrote "cut 2" took two cuts.
 */
export function runOf(head: RunHead, entries: readonly RunEntry[]): RunRecord {
  const streams = new Map<string, RunStream>();
  const samples: RunSample[] = [];
  const run: RunRecord = {
    schemaVersion: 1,
    metal: "",
    mineral: null,
    hours: null,
    ...head,
    streams: [],
    samples,
    settings: [],
    changes: [],
    photos: [],
    notes: [],
    prices: {},
    penalties: {},
  };
  for (const entry of entries) {
    if (entry.kind === "about") Object.assign(run, entry.about);
    else if (entry.kind === "stream") streams.set(entry.stream.name, entry.stream);
    else if (entry.kind === "sample") takeSample(samples, entry.sample);
    else if (entry.kind === "setting") run.settings.push(entry.setting);
    else if (entry.kind === "change") run.changes.push(entry.change);
    else if (entry.kind === "price") run.prices[entry.price.of] = entry.price.figure;
    else if (entry.kind === "penalty") {
      const { assay, of, figure } = entry.penalty;
      run.penalties[assay] = { ...run.penalties[assay], [of]: figure };
    } else if (entry.kind === "photo") run.photos.push(entry.photo);
    else run.notes.push(entry.note);
  }
  return { ...run, streams: streamsWith([...streams.values()], samples) };
}

function takeSample(samples: RunSample[], taken: RunSample): void {
  const alike = samples.filter(({ kind, stream }) => kind === taken.kind && stream === taken.stream);
  const same = alike.findIndex(({ sample }) => sample === taken.sample);
  if (same < 0) return void samples.push({ ...taken, figures: { ...taken.figures } });
  const own = alike[same]!;
  if (!Object.keys(taken.figures).some((name) => name in own.figures)) {
    samples[samples.indexOf(own)] = {
      ...own,
      figures: { ...own.figures, ...taken.figures },
      at: own.at ?? taken.at,
      who: own.who || taken.who,
      note: own.note || taken.note,
    };
    return;
  }
  let free = alike.length + 1;
  while (alike.some(({ sample }) => sample === String(free))) free++;
  samples.push({ ...taken, sample: String(free), figures: { ...taken.figures } });
}

/** A run as entries that `runOf` makes the same run of. */
export function entriesOf(run: RunRecord): RunEntry[] {
  const { name, site, material, metal, mineral, startedAt, endedAt, hours } = run;
  const prices = Object.entries(run.prices) as [keyof typeof run.prices, NonNullable<(typeof run.prices)["metal"]>][];
  return [
    { kind: "about", about: { name, site, material, metal, mineral, startedAt, endedAt, hours } },
    ...run.streams.map((stream) => ({ kind: "stream" as const, stream })),
    ...run.samples.map((sample) => ({ kind: "sample" as const, sample })),
    ...run.settings.map((setting) => ({ kind: "setting" as const, setting })),
    ...run.changes.map((change) => ({ kind: "change" as const, change })),
    ...prices.map(([of, figure]) => ({ kind: "price" as const, price: { of, figure } })),
    ...penaltiesOf(run).map((penalty) => ({ kind: "penalty" as const, penalty })),
    ...run.photos.map((photo) => ({ kind: "photo" as const, photo })),
    ...run.notes.map((note) => ({ kind: "note" as const, note })),
  ];
}

/** A run's penalties, one figure each. */
export const penaltiesOf = ({ penalties }: RunRecord) =>
  Object.entries(penalties).flatMap(([assay, told]) =>
    (Object.keys(told) as PenaltyName[]).map((of) => ({ assay, of, figure: told[of]! })),
  );

/** Why an entry cannot be used though its shape is right, in words; null where it can. Figures are in kept units. */
export function entryFault(entry: RunEntry): string | null {
  if (entry.kind === "setting" || entry.kind === "change") {
    const { control, figure } = entry.kind === "setting" ? entry.setting : entry.change;
    const signed = control === "cross slope" || control === "end slope";
    if (!signed && figure.value < 0) return `${control} of ${figure.value} is below 0. Correct it.`;
    return control === "feed solids" && figure.value > 100 ? "Feed solids are above 100 %. Correct them." : null;
  }
  if (entry.kind === "price") return moneyFault(entry.price.of, PRICES[entry.price.of], entry.price.figure.value);
  if (entry.kind === "penalty") {
    return moneyFault(entry.penalty.of, PENALTIES[entry.penalty.of], entry.penalty.figure.value);
  }
  return entry.kind === "sample" ? sampleFault(entry.sample) : null;
}

/** What is kept in money may be below 0: a cost that is paid to somebody. */
function moneyFault(name: string, quantity: "price" | "money" | "percent" | "hours", value: number): string | null {
  if (value < 0 && quantity !== "money") return `${name} of ${value} is below 0. Correct it.`;
  if (value > 100 && quantity === "percent") return `${name} is above 100 %. Correct it.`;
  return value > 24 && quantity === "hours" ? "A day has 24 hours. Correct it." : null;
}

function sampleFault({ kind, sample, sizeMm, figures }: RunSample): string | null {
  const named = Object.entries(figures);
  if (named.length === 0) return `A ${kind} has at least one figure. Add one.`;
  if (kind === "fraction" && sizeMm === null) return "A fraction has two openings in mm. Add them.";
  if (kind === "fraction" && `${sizeMm![0]}-${sizeMm![1]}` !== sample) {
    return `A fraction is named by its openings: ${sizeMm![0]}-${sizeMm![1]}. Name it so.`;
  }
  if (kind !== "fraction" && sizeMm !== null) return `Only a fraction has openings in mm; this is a ${kind}.`;
  for (const [name, { value }] of named) {
    try {
      const quantity = quantityOf(kind, name.toLowerCase());
      if (value < 0) return `${name} of ${value} is below 0. Correct it.`;
      if ((quantity === "percent" || quantity === "grade") && value > 100) return `${name} is above 100 %. Correct it.`;
      if (quantity === "count" && !Number.isInteger(value)) return `${name} of ${value} is no whole number of grains.`;
    } catch (error) {
      if (error instanceof RowFault) return error.message;
      throw error;
    }
  }
  return null;
}
