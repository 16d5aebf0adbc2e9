import type { Figure, RunEntry, RunSample, WatchedName } from "../vision/contract/index.ts";
import * as telling from "../vision/telling/index.ts";
import { inTrouble } from "./trouble.ts";
import { type Key, say, speech, splitterName } from "./words.ts";

/** What is said of runs in more than one place. */

/** Words of the page, or of the server, which speaks English only. */
export interface Said {
  readonly say: string;
  readonly foreign: boolean;
}

/** Kinds of samples, with their figures. */
export const SAMPLE_WORDS = {
  cut: { words: "run.kind.cut", items: ["wet", "dry", "time"] },
  mass: { words: "run.kind.mass", items: ["wet", "dry"] },
  assay: { words: "run.kind.assay", items: [] },
  count: { words: "run.kind.count", items: ["free dense", "free light", "locked"] },
  fraction: { words: "run.kind.fraction", items: ["mass", "free dense", "free light", "locked"] },
  magnet: { words: "run.kind.magnet", items: ["held", "charge"] },
  pan: { words: "run.kind.pan", items: ["grains", "panned"] },
} as const satisfies Record<RunSample["kind"], { words: Key; items: readonly string[] }>;
export type SampleKind = keyof typeof SAMPLE_WORDS;
export type SampleItem = (typeof SAMPLE_WORDS)[SampleKind]["items"][number];

/** Figures with the unit that they are kept in. */
export const ITEM_WORDS: Readonly<Record<SampleItem, { readonly words: Key; readonly unit: "kg" | "s" | "" }>> = {
  wet: { words: "run.item.wet", unit: "kg" },
  dry: { words: "run.item.dry", unit: "kg" },
  // what stays on a screen is weighed dry
  mass: { words: "run.item.dry", unit: "kg" },
  time: { words: "run.item.time", unit: "s" },
  held: { words: "run.item.held", unit: "kg" },
  charge: { words: "run.item.charge", unit: "kg" },
  panned: { words: "run.item.panned", unit: "kg" },
  grains: { words: "run.item.grains", unit: "" },
  "free dense": { words: "run.item.freeDense", unit: "" },
  "free light": { words: "run.item.freeLight", unit: "" },
  locked: { words: "run.item.locked", unit: "" },
};

export const streamName = (name: string) => telling.streamName(speech, name);
/** A value with its standard error, where it has one. */
export const measured = (value: number, error: number | null, unit: string) =>
  telling.measured(speech, value, error, unit);
const figure = ({ value, error }: Figure, unit: string) => measured(value, error, unit);

/** One thing that was written down, in one line. */
export function sayEntry(entry: RunEntry): string {
  switch (entry.kind) {
    case "setting":
    case "change": {
      const { control, target, figure: to } = entry.kind === "setting" ? entry.setting : entry.change;
      const { words, unit } = telling.CONTROL_WORDS[control];
      const name = [say(words), target && splitterName(target)].filter(Boolean).join(" ");
      return say(entry.kind === "setting" ? "run.said.stands" : "run.said.changed", { name, value: figure(to, unit) });
    }
    case "sample":
      return saySample(entry.sample);
    case "note":
      return entry.note.text;
    case "photo":
      return entry.photo.name;
    case "stream":
      return say("run.said.stream", { name: streamName(entry.stream.name) });
    case "price":
      return `${say(telling.PRICE_WORDS[entry.price.of])}: ${figure(entry.price.figure, "")}`;
    case "penalty": {
      const { assay, of, figure: told } = entry.penalty;
      return `${say("run.money.penalty")}, ${assay}, ${say(telling.PENALTY_WORDS[of])}: ${figure(told, "")}`;
    }
    case "about":
      return [entry.about.name, entry.about.material, entry.about.metal].filter(Boolean).join(", ") || "…";
  }
}
function saySample({ kind, stream, sample, figures }: RunSample): string {
  const told = Object.entries(figures).map(([name, told]) => {
    const item = (ITEM_WORDS as Partial<Record<string, { words: Key; unit: string }>>)[name];
    return item ? `${say(item.words)} ${figure(told, item.unit)}` : `${name} ${figure(told, "%")}`;
  });
  const what = [say(SAMPLE_WORDS[kind].words), sample].filter(Boolean).join(" ");
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
export const watchedName = (quantity: WatchedName) => telling.watchedName(speech, quantity);

/** The time as clocks here show it, to the minute, without the offset: as cameras write it into photos. */
export function clockTime(time = new Date()): string {
  const two = (n: number) => String(n).padStart(2, "0");
  const day = [time.getFullYear(), two(time.getMonth() + 1), two(time.getDate())].join("-");
  return `${day}T${two(time.getHours())}:${two(time.getMinutes())}`;
}

/** A photo's time, as cameras write it, in the language's own way. */
export const timeOf = (at?: string) => telling.timeOf(speech, at);

/** What was thrown, in words. */
export function newsOf(error: unknown): Said {
  const { code, detail, foreign } = inTrouble(error);
  return code === "no-answer" ? { say: say("run.needsServer"), foreign: false } : { say: detail, foreign };
}
