/** A person at the test plant: takes a photo, asks, does the first thing advised, waits, looks again. */

import { expectedMoves } from "../../vision/advice/best-change.ts";
import { learned, twinOf } from "../../vision/advice/twin-case.ts";
import type { Hint, Reading, SettingsFile } from "../../vision/contract/index.ts";
import { describeDeck } from "../../vision/deck.ts";
import { advise } from "../../vision/rules.ts";
import { between, pick, type Random, randomFrom } from "../../vision/scene/random.ts";
import type { Notes } from "../../vision/stages.ts";
import { EDGE_COUNT } from "../../vision/telling/hint-order.ts";
import { bordersOf } from "../../vision/twin/as-seen.ts";
import { bestCutsOf, bestOf, drawPlant, drift, money, type Plant, type PlantSettings, run } from "./advice-plant.ts";
import {
  countsAt,
  deckFile,
  deckOf,
  drawStart,
  knowledge,
  limited,
  look,
  reachOf,
  type Start,
  settingsFile,
} from "./advice-start.ts";

export const HINTS = 6;
/** Photos in a row that call for nothing before the person leaves the deck alone. */
const QUIET = 3;
/** What is asked, and what is done about the answer: the settings after it, or null to leave them. */
export type Way = (asked: {
  reading: Reading;
  deck: ReturnType<typeof describeDeck>;
  notes: Notes;
  at: PlantSettings;
  random: Random;
  plant: Plant;
}) => Hint | null;

export interface Outcome {
  /** Share of the best at the start and after each hint. */
  readonly shares: readonly number[];
  readonly hints: readonly string[];
  /** Border moves expected and seen, where the expected one exceeds two standard errors. */
  readonly moves: readonly { readonly expectedMm: number; readonly seenMm: number }[];
  /** Where plant and settings stood when the person left the deck alone. */
  readonly final: { readonly plant: Plant; readonly settings: PlantSettings };
}

export function follow(start: Start, way: Way, random: Random): Outcome {
  let { plant, settings } = start;
  const known = knowledge(plant, random);
  const shares = [money(plant, settings) / start.best.money];
  // the plant drifts, and its best with it: on the way at the first best's water and slope, at the end found anew
  const ofBest = () => money(plant, settings) / bestCutsOf(plant, run(plant, start.best)).money;
  const hints: string[] = [];
  const moves: { expectedMm: number; seenMm: number }[] = [];
  let file = settingsFile(plant, settings, known);
  const earlier: { reading: Reading; settings: SettingsFile }[] = [];
  let quiet = 0;
  let foretold: ReturnType<typeof expectedMoves> = [];
  while (hints.length < HINTS && quiet < QUIET) {
    let reading = look(plant, settings, random);
    for (const { between: pair, byMm, errorMm } of foretold) {
      const at = (r: Reading | undefined) =>
        r && bordersOf(r).find((b) => b.between.join() === pair.join())?.atMm.value;
      const [was, is] = [at(earlier.at(-1)?.reading), at(reading)];
      if (was !== undefined && is !== undefined && Math.abs(byMm) > 2 * errorMm)
        moves.push({ expectedMm: byMm, seenMm: is - was });
    }
    foretold = [];
    const deck = describeDeck(deckFile(plant, settings));
    const notes: Notes = { profile: known.profile, aim: known.aim, settings: file, earlier };
    const hint = way({ reading, deck, notes, at: settings, random, plant });
    reading = { ...reading, advice: hint ? [hint] : [] };
    earlier.push({ reading, settings: file });
    // only the advice has a twin to learn with and to foretell by
    const fitted = way === advised || way === advisedWithCounts ? twinOf({ reading, deck, notes }) : null;
    const twin = fitted ? learned(fitted) : file.twin;
    const next = hint ? applied(plant, settings, hint) : settings;
    const moved = Math.abs(next.wash / settings.wash - 1) > 1e-6 || Math.abs(next.slope / settings.slope - 1) > 1e-6;
    if (moved) {
      const then = settingsFile(plant, next, known);
      if (fitted)
        foretold = expectedMoves(fitted, {
          ...fitted.settings,
          washWaterLitresPerMinute: then.washWaterLitresPerMinute!,
          crossSlopeMmPerM: then.crossSlopeMmPerM!,
        });
    }
    const done = hint !== null && JSON.stringify(next) !== JSON.stringify(settings);
    quiet = done ? 0 : quiet + 1;
    settings = next;
    plant = drift(plant, random);
    if (done) {
      hints.push(
        `${hint.control}${hint.target ? ` ${hint.target}` : ""} ${hint.direction} ${hint.amount?.value ?? "?"}`,
      );
      shares.push(ofBest());
    }
    const counts =
      hint?.target === EDGE_COUNT ? countsAt(plant, settings, hint.evidence.cutAtMm as number[], random) : null;
    if (counts) {
      quiet = 0;
      hints.push("count grains at the outlet");
      shares.push(ofBest());
    }
    file = {
      ...settingsFile(plant, settings, known),
      ...(twin ? { twin } : {}),
      ...(counts ? { edgeCounts: counts } : {}),
    };
  }
  return {
    shares: [...shares.slice(0, -1), money(plant, settings) / bestOf(plant).money],
    hints,
    moves,
    final: { plant, settings },
  };
}

/** The plant after a hint: its amount, or a tenth where it gives none (20 mm for a splitter). */
function applied(plant: Plant, at: PlantSettings, { control, target, direction, amount, toMm }: Hint): PlantSettings {
  const reach = reachOf(plant);
  const sign = direction === "raise" ? 1 : direction === "lower" ? -1 : 0;
  if (control === "washWater")
    return { ...at, wash: limited(at.wash + sign * (amount?.value ?? 0.1 * at.wash), reach.wash) };
  if (control === "crossSlope")
    return { ...at, slope: limited(at.slope + sign * (amount?.value ?? 0.1 * at.slope), reach.slope) };
  if (control !== "splitter" || (target !== "upper" && target !== "lower")) return at;
  const to = toMm ?? at[target] + sign * (amount?.value ?? 20);
  return target === "upper"
    ? { ...at, upper: limited(to, [0, at.lower]) }
    : { ...at, lower: limited(to, [at.upper, plant.lengthMm + plant.widthMm]) };
}

/** The first hint, with all that is known; who counts no grains takes the next one. */
export const advised: Way = ({ reading, deck, notes }) =>
  advise(reading, deck, notes).find(({ target }) => target !== EDGE_COUNT) ?? null;
export const advisedWithCounts: Way = ({ reading, deck, notes }) => advise(reading, deck, notes)[0]!;

/** The rules without a twin, so without amounts but for splitters: the material is not told, nor the prices. */
export const rulesAlone: Way = ({ reading, deck, notes }) => {
  const { washWaterLitresPerMinute, feedWaterLitresPerMinute } = notes.settings ?? {};
  const hint = advise(reading, deck, { settings: { washWaterLitresPerMinute, feedWaterLitresPerMinute } })[0]!;
  return { ...hint, amount: null, toMm: null };
};

/** One control, one way, by a twentieth to a half of it or 20 to 200 mm. */
export const random: Way = ({ at, random: draw }) => {
  const control = pick(draw, ["washWater", "crossSlope", "upper", "lower"] as const);
  const direction = pick(draw, ["raise", "lower"] as const);
  const share = between(draw, 0.05, 0.5);
  const isCut = control === "upper" || control === "lower";
  const value =
    control === "washWater" ? share * at.wash : control === "crossSlope" ? share * at.slope : between(draw, 20, 200);
  const amount = {
    value,
    unit: isCut ? ("mm" as const) : control === "washWater" ? ("L/min" as const) : ("mm/m" as const),
  };
  const target = isCut ? control : null;
  const rest = {
    because: ["a draw"],
    evidence: {},
    expect: "",
    lookAgainMinutes: 1,
    caution: null,
    basis: [],
    confidence: 0,
  };
  return { control: isCut ? "splitter" : control, target, direction, amount, toMm: null, ...rest };
};

/** On how many readings of plants that stand at their best a change is advised; five photos a plant, each with those before. */
export function calmShare(readings: number, seed = 4e6): { readonly changed: number; readonly readings: number } {
  let [changed, asked] = [0, 0];
  for (let plantSeed = seed; asked < readings; plantSeed++) {
    const draw = randomFrom(plantSeed);
    const { plant, best } = drawPlant(draw);
    const known = knowledge(plant, draw);
    const deck = deckOf(plant, best);
    const settings = settingsFile(plant, best, known);
    const earlier: { reading: Reading; settings: SettingsFile }[] = [];
    for (let photo = 0; photo < 5 && asked < readings; photo++, asked++) {
      const reading = look(plant, best, draw);
      const hint = advise(reading, deck, { profile: known.profile, aim: known.aim, settings, earlier })[0]!;
      if (hint.direction !== "hold") changed++;
      earlier.push({ reading: { ...reading, advice: [] }, settings });
    }
  }
  return { changed, readings: asked };
}

/** How often a second photo of one state, asked with the first beside it, gives the very same hint. */
export function sameHints(starts: number, seed = 20_001): number {
  let same = 0;
  for (let start = seed; start < seed + starts; start++) {
    const draw = randomFrom(start);
    const { plant, settings: at } = drawStart(draw);
    const known = knowledge(plant, draw);
    const [deck, settings] = [deckOf(plant, at), settingsFile(plant, at, known)];
    const notes: Notes = { profile: known.profile, aim: known.aim, settings };
    const [first, second] = [look(plant, at, draw), look(plant, at, draw)];
    const hint = advise(first, deck, notes)[0]!;
    const earlier = [{ reading: { ...first, advice: [hint] }, settings }];
    const again = advise(second, deck, { ...notes, earlier })[0]!;
    if (JSON.stringify(hint) === JSON.stringify(again)) same++;
  }
  return same;
}
