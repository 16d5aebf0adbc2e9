import type { DriftChart, DriftEvent, RunBalance, Told, WatchedName } from "../contract/index.ts";
import { checkName, controlName, itemName, KIND_WORDS, streamName, watchedName } from "./names.ts";
import { measured, type Speech, timeOf } from "./speech.ts";

type Value = Told["values"][string];

/** A sentence in the language spoken. */
export function tell(speech: Speech, { code, values }: Told): string {
  const said = Object.entries(values).map(([name, value]) => [name, filledIn(speech, name, value)] as const);
  return speech.say(`told.${code}`, Object.fromEntries(said));
}

/** Whole numbers stay numbers, since words may hang on how many there are. */
function filledIn(speech: Speech, name: string, value: Value): string | number {
  if (typeof value === "number") return Number.isInteger(value) ? value : speech.number(value, 1);
  if (Array.isArray(value)) return value.map((one) => String(filledIn(speech, name, one))).join(", ");
  if (typeof value === "object") {
    return "item" in value ? itemName(speech, value) : measured(speech, value.value, value.error, value.unit);
  }
  return NAMES[name]?.(speech, value) ?? value;
}
/** What is called by a fixed English word, by the name it is filled in as. */
const NAMES: Readonly<Record<string, (speech: Speech, value: string) => string>> = {
  stream: streamName,
  streams: streamName,
  control: controlName,
  quantities: (speech, value) => watchedName(speech, value as WatchedName),
};

/** What moved on the charts, and since when. */
export const eventTitle = (speech: Speech, { kind }: Pick<DriftEvent, "kind">, since: string | undefined): string =>
  speech.say("run.charts.event", { kind: speech.say(KIND_WORDS[kind ?? "open"]), when: timeOf(speech, since) });
/** Which quantities moved, and how far. */
export const movedWords = (speech: Speech, { moved }: Pick<DriftEvent, "moved">): string =>
  moved
    .map(({ quantity, size, unit }) => {
      return `${watchedName(speech, quantity)} ${size > 0 ? "+" : "−"}${measured(speech, Math.abs(size), null, unit)}`;
    })
    .join("; ");
/** What such a change means at the table. */
export const meaningOf = (speech: Speech, { kind }: Pick<DriftEvent, "kind">): string =>
  speech.say(`told.drift.mean.${kind ?? "open"}`);
/** What most likely moved it, and how that is known. */
export const causeWords = (speech: Speech, { cause }: Pick<DriftEvent, "cause">): string =>
  `${tell(speech, cause.told)} (${speech.say(`told.cause.kind.${cause.kind}`)})`;

/** What a chart shows, in words. */
export function chartWords(speech: Speech, { quantity, values, level, sd, limits, alarms, unit }: DriftChart): string {
  const told = values.filter((value) => value !== null);
  return speech.say("run.charts.say", {
    name: watchedName(speech, quantity),
    photos: told.length,
    least: measured(speech, Math.min(...told), null, ""),
    most: measured(speech, Math.max(...told), null, unit),
    now: measured(speech, told.at(-1)!, null, unit),
    known: level === null || sd === null ? "no" : "yes",
    level: measured(speech, level ?? 0, null, unit),
    limit: measured(speech, limits.single * (sd ?? 0), null, unit),
    alarms: alarms.length,
  });
}

/** A quick check by hand. */
export function checkWords(
  speech: Speech,
  { stream, what, found, from, to, unit }: RunBalance["checks"][number],
): string {
  const value = measured(speech, found.value, found.error, unit);
  const range =
    from === null || to === null
      ? ""
      : ` (${speech.say("run.expected.between", { from: short(speech, from), to: short(speech, to) })})`;
  return `${streamName(speech, stream)}, ${checkName(speech, what)}: ${value}${range}`;
}
const short = (speech: Speech, value: number) => speech.number(Number(value.toPrecision(2)), 0, 3);
