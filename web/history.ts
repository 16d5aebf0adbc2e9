import { type NewReadingInput, Product, type Reading } from "../vision/contract/index.ts";
import { outletUnits } from "./reading-words.ts";
import { clockTime } from "./run-words.ts";
import { knownSettings, withUnit } from "./settings-words.ts";
import { given } from "./units.ts";
import { say, splitterName, when } from "./words.ts";

/** A deck in time: its readings in order, found by deck, material and day; what moved, and what was changed in between. */

/** One reading of a deck. */
export interface Look {
  /** Of the photo. */
  readonly id: string;
  /** ms since 1970: when the photo was taken, else when it came. */
  readonly at: number;
  readonly reading: Reading;
  readonly asked: Pick<NewReadingInput, "deck" | "settings" | "profile">;
  /** Whether this device keeps the photo. */
  readonly isHere: boolean;
}
export const takenAt = ({ photo: { takenAt } }: Reading, otherwise: number): number => {
  const told = takenAt ? Date.parse(takenAt) : Number.NaN;
  return Number.isNaN(told) ? otherwise : told;
};

/** What looks are found by; null: any. */
export interface Wanted {
  readonly deck: string | null;
  readonly material: string | null;
  /** As `dayOf` writes it. */
  readonly day: string | null;
}

/** Readings share a deck, and its millimetres, when name and size agree; without a size all that is known is the outlet's per cent. */
export function deckOf({ reading: { scale, grid }, asked: { deck } }: Look): string {
  if (scale === "assumed" || !grid) return say("report.deckUnknown");
  const [length, width] = [grid.columns, grid.rows].map((cells) => given(cells * grid.mmPerCell, "mm"));
  return say("history.deckName", { name: deck?.name ?? "", length: length!, width: width! }).trim();
}
export const materialOf = ({ asked: { profile } }: Look): string | null => profile?.name ?? null;
/** Local day, such as 2026-05-12. */
export const dayOf = ({ at }: Look): string => clockTime(new Date(at)).slice(0, 10);

/** What there is to choose from, what was seen last first. */
export function choicesOf(looks: readonly Look[]) {
  const late = looks.toSorted((a, b) => b.at - a.at);
  const among = (of: (look: Look) => string | null) => [...new Set(late.map(of).filter((name) => name !== null))];
  return { decks: among(deckOf), materials: among(materialOf), days: among(dayOf) };
}
/** The looks that are wanted, in time order, one a photo. */
export const found = (looks: readonly Look[], { deck, material, day }: Wanted): Look[] =>
  looks
    .filter((look) => look.reading.quality.usable)
    .filter((look) => deck === null || deckOf(look) === deck)
    .filter((look) => material === null || materialOf(look) === material)
    .filter((look) => day === null || dayOf(look) === day)
    .toSorted((a, b) => a.at - b.at);

export const PRODUCTS = Product.options;
/** Where a class leaves the deck: the places furthest apart, with their standard errors; null where it was not seen. */
export function spanOf({ bands }: Reading, kind: Product) {
  const spans = bands.filter((band) => band.kind === kind).flatMap(({ outlet }) => outlet);
  if (spans.length === 0) return null;
  const first = spans.reduce((a, b) => (b.fromMm < a.fromMm ? b : a));
  const last = spans.reduce((a, b) => (b.toMm > a.toMm ? b : a));
  return { fromMm: first.fromMm, toMm: last.toMm, fromErrorMm: first.fromErrorMm, toErrorMm: last.toErrorMm };
}
export const COVERS = ["dense", "middling", "light", "bare", "dry"] as const;
/** Share of what is seen of the deck, 0 to 1. */
export function coverOf({ cover }: Reading, kind: (typeof COVERS)[number]): number | null {
  return !cover || cover.unseen >= 1 ? null : cover[kind] / (1 - cover.unseen);
}

/** What was changed before each look, in words: controls and splitters that stand elsewhere than when they were last told. */
export function changesBefore(looks: readonly Look[]): string[][] {
  const last = new Map<string, number>();
  return looks.map(({ reading, asked }) => {
    const units = outletUnits(reading);
    const told = [
      ...knownSettings(asked.settings ?? {}).map((one) => ({ ...one, say: (v: number) => withUnit(v, one.unit) })),
      ...reading.splitters.map(({ name, atMm }) => {
        return {
          name: say("history.splitter", { name: splitterName(name) }),
          value: atMm,
          say: (mm: number) => units.say(mm),
        };
      }),
    ];
    return told.flatMap(({ name, value, say: write }) => {
      const was = last.get(name);
      last.set(name, value);
      if (was === undefined || was === value) return [];
      return [say("history.change", { name, from: write(was), to: write(value) })];
    });
  });
}

/** A class in time, as one sentence: where it left the deck first and last. */
export function trackWords(looks: readonly Look[], kind: Product): string {
  const seen = looks.flatMap((look) => {
    const span = spanOf(look.reading, kind);
    return span ? [{ look, span }] : [];
  });
  const [first, last] = [seen[0], seen.at(-1)];
  if (!first || !last) return say("history.neverSeen", { name: say(`class.${kind}`) });
  const place = ({ look, span }: typeof first) => {
    const units = outletUnits(look.reading);
    return `${units.number(span.fromMm)}–${units.say(span.toMm)}`;
  };
  return say("history.track", {
    name: say(`class.${kind}`),
    count: seen.length,
    from: place(first),
    to: place(last),
    start: when(new Date(first.look.at)),
    end: when(new Date(last.look.at)),
  });
}
