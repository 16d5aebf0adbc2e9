import type {
  ControlName,
  DriftChart,
  Figure,
  PenaltyName,
  PriceName,
  RunEntry,
  RunSample,
  WatchedName,
} from "../vision/contract/index.ts";
import { type Key, number, say, when } from "./words.ts";

/** What is said of runs in more than one place. */

/** Words of the page, or of the server, which speaks English only. */
export interface Said {
  readonly say: string;
  readonly foreign: boolean;
}

/** Controls in the order of the list, with their words and the unit that they are kept in. */
export const CONTROL_WORDS: Readonly<Record<ControlName, { readonly words: Key; readonly unit: string }>> = {
  "wash water": { words: "run.control.washWater", unit: "L/min" },
  "feed water": { words: "run.control.feedWater", unit: "L/min" },
  "feed rate": { words: "run.control.feedRate", unit: "kg/h" },
  "feed solids": { words: "run.control.feedSolids", unit: "%" },
  "cross slope": { words: "run.control.crossSlope", unit: "mm/m" },
  "end slope": { words: "run.control.endSlope", unit: "mm/m" },
  splitter: { words: "run.control.splitter", unit: "mm" },
  stroke: { words: "run.control.stroke", unit: "mm" },
  speed: { words: "run.control.speed", unit: "1/min" },
};
/** Kinds of samples that are written down here, with their figures; the others come with sheets. */
export const SAMPLE_WORDS = {
  cut: { words: "run.kind.cut", items: ["wet", "dry", "time"] },
  mass: { words: "run.kind.mass", items: ["wet", "dry"] },
  assay: { words: "run.kind.assay", items: [] },
  count: { words: "run.kind.count", items: ["free dense", "free light", "locked"] },
  magnet: { words: "run.kind.magnet", items: ["held", "charge"] },
  pan: { words: "run.kind.pan", items: ["grains", "panned"] },
} as const satisfies Partial<Record<RunSample["kind"], { words: Key; items: readonly string[] }>>;
export type SampleKind = keyof typeof SAMPLE_WORDS;
export type SampleItem = (typeof SAMPLE_WORDS)[SampleKind]["items"][number];

/** Figures with the unit that they are kept in. */
export const ITEM_WORDS: Readonly<Record<SampleItem, { readonly words: Key; readonly unit: "kg" | "s" | "" }>> = {
  wet: { words: "run.item.wet", unit: "kg" },
  dry: { words: "run.item.dry", unit: "kg" },
  time: { words: "run.item.time", unit: "s" },
  held: { words: "run.item.held", unit: "kg" },
  charge: { words: "run.item.charge", unit: "kg" },
  panned: { words: "run.item.panned", unit: "kg" },
  grains: { words: "run.item.grains", unit: "" },
  "free dense": { words: "run.item.freeDense", unit: "" },
  "free light": { words: "run.item.freeLight", unit: "" },
  locked: { words: "run.item.locked", unit: "" },
};

/** Prices and costs of a run, in the order of the form. */
export const PRICE_WORDS: Readonly<Record<PriceName, Key>> = {
  metal: "run.money.of.metal",
  payable: "run.money.of.payable",
  deduction: "run.money.of.deduction",
  treatment: "run.money.of.treatment",
  rerun: "run.money.of.rerun",
  regrind: "run.money.of.regrind",
  discard: "run.money.of.discard",
  "hours a day": "run.money.of.hoursADay",
  "free won": "run.money.of.freeWon",
  "free won ground": "run.money.of.freeWonGround",
  "locked won ground": "run.money.of.lockedWonGround",
};
export const PENALTY_WORDS: Readonly<Record<PenaltyName, Key>> = {
  penalty: "run.money.of.penalty",
  "penalty above": "run.money.of.penaltyAbove",
};

/** Streams that every table has; others bear the name that people gave them. */
export const STREAM_WORDS: Readonly<Record<string, Key>> = {
  feed: "run.stream.feed",
  dense: "class.dense",
  middling: "class.middling",
  light: "class.light",
  "clean-up": "run.stream.cleanUp",
};
export const streamName = (name: string) => (STREAM_WORDS[name] ? say(STREAM_WORDS[name]) : name);

/** A value with its standard error, where it has one, to as many digits as that bears; it never breaks before the sign. */
export function measured(value: number, error: number | null, unit: string): string {
  const told = unit && `\u00a0${unit}`;
  if (error === null || !(error > 0)) {
    const digits = Math.max(0, 3 - Math.ceil(Math.log10(Math.max(1e-6, Math.abs(value)))));
    return `${number(value, 0, Math.min(8, digits))}${told}`;
  }
  const digits = Math.min(6, Math.max(0, 1 - Math.floor(Math.log10(error))));
  return `${number(value, digits)}\u00a0±\u00a0${number(error, digits)}${told}`;
}
const figure = ({ value, error }: Figure, unit: string) => measured(value, error, unit);

/** One thing that was written down, in one line. */
export function sayEntry(entry: RunEntry): string {
  switch (entry.kind) {
    case "setting":
    case "change": {
      const { control, target, figure: to } = entry.kind === "setting" ? entry.setting : entry.change;
      const { words, unit } = CONTROL_WORDS[control];
      const name = [say(words), target].filter(Boolean).join(" ");
      return say(entry.kind === "setting" ? "run.said.stands" : "run.said.changed", { name, value: figure(to, unit) });
    }
    case "sample":
      return saySample(entry.sample);
    case "note":
      return entry.note.text;
    case "photo":
      return entry.photo.name;
    case "stream":
      return streamName(entry.stream.name);
    case "price":
      return `${say(PRICE_WORDS[entry.price.of])}: ${figure(entry.price.figure, "")}`;
    case "penalty": {
      const { assay, of, figure: told } = entry.penalty;
      return `${say("run.money.penalty")}, ${assay}, ${say(PENALTY_WORDS[of])}: ${figure(told, "")}`;
    }
    case "about":
      return [entry.about.name, entry.about.material, entry.about.metal].filter(Boolean).join(", ") || "…";
  }
}
function saySample({ kind, stream, sample, figures }: RunSample): string {
  const known: Key = kind === "fraction" ? "run.kind.fraction" : SAMPLE_WORDS[kind].words;
  const told = Object.entries(figures).map(([name, told]) => {
    // what stays on a screen is weighed dry
    const item = (ITEM_WORDS as Partial<Record<string, { words: Key; unit: string }>>)[name === "mass" ? "dry" : name];
    return item ? `${say(item.words)} ${figure(told, item.unit)}` : `${name} ${figure(told, "%")}`;
  });
  const what = [say(known), sample].filter(Boolean).join(" ");
  return `${streamName(stream)}, ${what}: ${told.join(", ")}`;
}

/** Who wrote it and when it was so, as far as it is told. */
export function sayWhen(entry: RunEntry): string {
  const told =
    entry.kind === "setting"
      ? entry.setting
      : entry.kind === "change"
        ? entry.change
        : entry.kind === "sample"
          ? entry.sample
          : null;
  const at = entry.kind === "note" ? entry.note.at : (told?.at ?? null);
  const who = entry.kind === "note" ? entry.note.who : (told?.who ?? "");
  return [at?.replace("T", " ").slice(0, 16), who, told?.note].filter(Boolean).join(", ");
}

/** The edge or share that a chart is of. */
export function watchedName(quantity: WatchedName): string {
  const [of, what] = quantity.split(" ") as ["dense", "from" | "to" | "cover"];
  const name = say(`class.${of}`);
  return say(what === "from" ? "run.watched.from" : what === "to" ? "run.watched.to" : "run.watched.cover", { name });
}
export const KIND_WORDS: Readonly<Record<NonNullable<DriftChart["alarms"][number]["kind"]> | "open", Key>> = {
  surge: "run.change.surge",
  step: "run.change.step",
  drift: "run.change.drift",
  open: "run.change.open",
};

/** The time as clocks here show it, to the minute, without the offset: as cameras write it into photos. */
export function clockTime(time = new Date()): string {
  const two = (n: number) => String(n).padStart(2, "0");
  const day = [time.getFullYear(), two(time.getMonth() + 1), two(time.getDate())].join("-");
  return `${day}T${two(time.getHours())}:${two(time.getMinutes())}`;
}

/** A photo's time, as cameras write it, in the language's own way. */
export function timeOf(at = ""): string {
  const time = new Date(at);
  return Number.isNaN(time.getTime()) ? at : when(time);
}
