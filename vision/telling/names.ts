import type { ControlName, PenaltyName, PriceName, WatchedName } from "../contract/index.ts";
import type { Speech } from "./speech.ts";

/** Names of the words for what sheets, charts and balances call by fixed English words. */

/** Controls in the order of the list, with their words and the unit that they are kept in. */
export const CONTROL_WORDS = {
  "wash water": { words: "run.control.washWater", unit: "L/min" },
  "feed water": { words: "run.control.feedWater", unit: "L/min" },
  "feed rate": { words: "run.control.feedRate", unit: "kg/h" },
  "feed solids": { words: "run.control.feedSolids", unit: "%" },
  "cross slope": { words: "run.control.crossSlope", unit: "mm/m" },
  "end slope": { words: "run.control.endSlope", unit: "mm/m" },
  splitter: { words: "run.control.splitter", unit: "mm" },
  stroke: { words: "run.control.stroke", unit: "mm" },
  speed: { words: "run.control.speed", unit: "1/min" },
} as const satisfies Record<ControlName, { readonly words: string; readonly unit: string }>;

/** Prices and costs of a run, in the order of the form. */
export const PRICE_WORDS = {
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
} as const satisfies Record<PriceName, string>;
export const PENALTY_WORDS = {
  penalty: "run.money.of.penalty",
  "penalty above": "run.money.of.penaltyAbove",
} as const satisfies Record<PenaltyName, string>;

/** Streams that every table has; others bear the name that people gave them. */
export const STREAM_WORDS = {
  feed: "run.stream.feed",
  dense: "class.dense",
  middling: "class.middling",
  light: "class.light",
  "clean-up": "run.stream.cleanUp",
} as const;

/** Kinds of change on a chart; `open` while it is not clear. */
export const KIND_WORDS = {
  surge: "run.change.surge",
  step: "run.change.step",
  drift: "run.change.drift",
  open: "run.change.open",
} as const;

const own = (names: Readonly<Record<string, string>>, name: string) =>
  Object.hasOwn(names, name) ? names[name]! : null;

export function streamName(speech: Speech, name: string): string {
  const key = own(STREAM_WORDS, name);
  // water that comes by a valve is a stream too
  return key ? speech.say(key) : controlName(speech, name);
}

export const controlName = (speech: Speech, name: string): string =>
  Object.hasOwn(CONTROL_WORDS, name) ? speech.say(CONTROL_WORDS[name as ControlName].words) : name;

const SPLITTER_WORDS = { upper: "splitter.upper", lower: "splitter.lower" } as const;
/** A splitter by one of the two usual names; any other one's own name. */
export function splitterName(speech: Speech, name: string): string {
  const key = own(SPLITTER_WORDS, name);
  return key ? speech.say(key) : name;
}

/** The edge or share that a chart is of. */
export function watchedName(speech: Speech, quantity: WatchedName): string {
  const [of, what] = quantity.split(" ") as ["dense", "from" | "to" | "cover"];
  return speech.say(`run.watched.${what}`, { name: speech.say(`class.${of}`) });
}

/** A figure of a run: its stream and what it is. */
export function itemName(speech: Speech, { stream, item }: { readonly stream: string; readonly item: string }): string {
  const values = { stream: streamName(speech, stream), assay: item };
  const known = item === "dry mass" ? "mass" : item === "water" ? "water" : "assay";
  return speech.say(`told.item.${known}`, values);
}

const CHECK_WORDS = {
  magnet: "run.kind.magnet",
  pan: "run.kind.pan",
  "free dense grains": "run.item.freeDense",
  "free light grains": "run.item.freeLight",
  "locked grains": "run.item.locked",
} as const;
/** What was checked by hand. */
export function checkName(speech: Speech, what: string): string {
  const key = own(CHECK_WORDS, what);
  return key ? speech.say(key) : what;
}
