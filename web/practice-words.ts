import { Product } from "../vision/contract/index.ts";
import type { LaunderContent } from "./flat-deck.ts";
import {
  type GoalMet,
  PRACTICE_CONTROLS,
  PRACTICE_DECK,
  type PracticeControl,
  type PracticeLook,
  type PracticeResult,
  type PracticeStand,
} from "./practice-sums.ts";
import { type Key, number, percent, say } from "./words.ts";

/** What the practice deck says. */

const CONTROL_KEYS = {
  washWaterLitresPerMinute: "run.control.washWater",
  crossSlopeMmPerM: "run.control.crossSlope",
  feedKgPerHour: "run.control.feedRate",
} as const satisfies Record<PracticeControl, Key>;
export const controlName = (name: PracticeControl) => say(CONTROL_KEYS[name]);

export const changed = (a: PracticeStand, b: PracticeStand): boolean =>
  (Object.keys(PRACTICE_CONTROLS) as PracticeControl[]).some((name) => a[name] !== b[name]) ||
  a.splittersMm.some((mm, i) => mm !== b.splittersMm[i]);

/** What the three launders carry, as the table shows it. */
export function contentOf({ carried }: PracticeResult, { splittersMm }: PracticeStand): LaunderContent[] {
  const ends = [0, ...splittersMm, PRACTICE_DECK.lengthMm + PRACTICE_DECK.widthMm];
  return Product.options.map((product, i) => {
    const of = (kind: Product) => ({ share: carried[i]![kind], error: 0 });
    return {
      name: number(i + 1),
      product,
      fromMm: ends[i]!,
      toMm: ends[i + 1]!,
      carried: { dense: of("dense"), middling: of("middling"), light: of("light") },
    };
  });
}

/** What one launder now carries, in a sentence. @param purity  Dense share by weight. */
export function sayLaunder({ product, carried }: LaunderContent, purity: number | null): string {
  const of = (kind: Product) => percent(carried[kind].share);
  if (purity === null) return say("practice.empty", { product: say(`class.${product}`) });
  return say("practice.carry", {
    product: say(`class.${product}`),
    dense: of("dense"),
    middling: of("middling"),
    light: of("light"),
    purity: percent(purity),
  });
}

export function sayLook(look: PracticeLook): string {
  switch (look.name) {
    case "denseLost":
    case "denseBelow":
    case "dirty":
      return say(`practice.look.${look.name}`, { share: percent(look.share) });
    case "upperOff":
    case "lowerOff":
      return say(`practice.look.${look.name}`, { at: number(look.atMm), off: number(look.offMm), way: look.way });
    case "blurred":
      return say("practice.look.blurred", { mm: number(look.mm) });
    case "fanNarrow":
    case "good":
      return say(`practice.look.${look.name}`);
  }
}

export function sayGoal({ goal, wanted, now, met }: GoalMet): string {
  const of = (value: number) => (goal === "washAtMost" ? `${number(value)}\u00a0L/min` : percent(value));
  return `${met ? "✓" : "○"} ${say(`practice.goal.${goal}`, { wanted: of(wanted), now: of(now) })}`;
}
