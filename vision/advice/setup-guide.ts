import type { SetupRecord } from "../contract/index.ts";
import { inEnglish } from "../said.ts";
import { type Basis, basis, SOURCES } from "../sources.ts";
import type { Deck } from "../stages.ts";
import { CAUTIONS } from "./case.ts";

/** One number to read at a step, with the range that is right. Null: that end is open. */
export interface Check {
  readonly name: string;
  readonly unit: string;
  readonly least: number | null;
  readonly most: number | null;
}
export interface SetupStep {
  readonly id: string;
  readonly title: string;
  readonly how: readonly string[];
  /** What must be read here, from the deck's own set points where it has them. */
  readonly checks: (deck: Deck) => readonly Check[];
  readonly caution: string;
  readonly basis: Basis;
}

/** Half an inch over two feet: a first cross slope for sand. */
const USUAL_SLOPE_MM_PER_M = 20.83;
/** How near a slope must come, mm/m: what a builder's level over half a metre shows. */
const LEVEL_MM_PER_M = 1;
/** 5 to 7 US gallons a minute on a deck of 8 by 4 ft (2.973 m²), for each m². */
const USUAL_WATER = [18.9 / 2.973, 26.5 / 2.973] as const;
/** A float crosses such a deck, 1.219 m, in 5 to 6 s: mm/s. */
const USUAL_FLOAT_MM_PER_S = [1219 / 6, 1219 / 5] as const;

const tenth = (value: number) => Math.round(value * 10) / 10;
const near = (name: string, unit: string, at: number, by: number): Check => ({
  name,
  unit,
  least: tenth(at - by),
  most: tenth(at + by),
});

/** The order of setting up a table: each step stands on the ones before it. To be read and extended. */
export const SETUP_STEPS: readonly SetupStep[] = [
  {
    id: "hold-down",
    title: "Hold the frame down",
    how: [
      "Bolt the frame to a floor that carries it. Run the drive for a minute without feed.",
      "Chalk the feet: the frame must neither walk nor shake.",
    ],
    checks: () => [{ name: "frame walked", unit: "mm", least: null, most: 0 }],
    caution: inEnglish(CAUTIONS.drive),
    basis: basis("said.source.walk", "common practice"),
  },
  {
    id: "level-along",
    title: "Level along the riffles, nuts snug",
    how: [
      "Lay level and bar along the riffles on the plain deck, never on a ramp. Read, turn end for end, read again; take the mean.",
      "Bring the end slope to its set point with shims under the legs. Draw the nuts snug, not tight.",
    ],
    checks: ({ file }) => [near("end slope", "mm/m", file.setPoints?.endSlopeMmPerM ?? 0, LEVEL_MM_PER_M)],
    caution: inEnglish(CAUTIONS.level),
    basis: SOURCES.riffleTaper,
  },
  {
    id: "slope-across",
    title: "Set the slope across, nuts snug",
    how: [
      "Lay the bar across the riffles on the plain deck and shim its low end until the level is true: slope is shim over bar.",
      "Read near both ends of the deck: a difference is twist. Take twist out before you go on.",
    ],
    checks: ({ file, lengthMm }) => [
      near("cross slope", "mm/m", file.setPoints?.crossSlopeMmPerM ?? USUAL_SLOPE_MM_PER_M, LEVEL_MM_PER_M),
      {
        name: "twist, one diagonal less the other",
        unit: "mm",
        least: tenth(-lengthMm / 1000),
        most: tenth(lengthMm / 1000),
      },
    ],
    caution: inEnglish(CAUTIONS.level),
    basis: basis("said.source.firstSlope", "common practice"),
  },
  {
    id: "recheck",
    title: "Check both ways again, then tighten",
    how: [
      "Setting one slope moves the other: read along and across once more, and once more after the nuts are tight.",
      "If either has moved, loosen, shim and start again at the level along the riffles.",
    ],
    checks: ({ file }) => [
      near("end slope", "mm/m", file.setPoints?.endSlopeMmPerM ?? 0, LEVEL_MM_PER_M),
      near("cross slope", "mm/m", file.setPoints?.crossSlopeMmPerM ?? USUAL_SLOPE_MM_PER_M, LEVEL_MM_PER_M),
    ],
    caution: inEnglish(CAUTIONS.level),
    basis: basis("said.source.recheck", "common practice"),
  },
  {
    id: "wash-pipe",
    title: "Set the wash pipe",
    how: [
      "Level the pipe along its length. Clear every hole; each jet must look like its neighbour.",
      "Turn the pipe until the jets land high on the deck, above where dense grains will travel.",
    ],
    checks: () => [{ name: "holes blocked", unit: "holes", least: null, most: 0 }],
    caution: inEnglish(CAUTIONS.water),
    basis: SOURCES.washJets,
  },
  {
    id: "film",
    title: "Find the least water that keeps the film whole",
    how: [
      "Clean the deck with detergent and wet it all over. Open the water until the film is whole and even.",
      "Close it slowly until the film first breaks; open it until the film is whole again, and a little more.",
      "Time a can three times under the whole flow: litres over seconds, times 60.",
    ],
    checks: ({ file, lengthMm, widthMm }) => {
      const [least, most] =
        file.setPoints?.waterLitresPerMinute ?? USUAL_WATER.map((perM2) => (perM2 * lengthMm * widthMm) / 1e6);
      return [{ name: "water, wash and feed", unit: "L/min", least: tenth(least!), most: tenth(most!) }];
    },
    caution: inEnglish(CAUTIONS.water),
    basis: basis("said.source.usualWater", "common practice"),
  },
  {
    id: "float",
    title: "Time a float",
    how: [
      "Drop a scrap of paper below the wash pipe, mid deck, no feed on. Time it to the low side, three times.",
      "Far slower than its range: rough deck or too little water. Far faster: water runs in part of the length only.",
    ],
    checks: ({ file, widthMm }) => {
      const [least, most] = file.setPoints?.floatSeconds ?? [
        widthMm / USUAL_FLOAT_MM_PER_S[1],
        widthMm / USUAL_FLOAT_MM_PER_S[0],
      ];
      return [{ name: "float across the deck", unit: "s", least: tenth(least), most: tenth(most) }];
    },
    caution: inEnglish(CAUTIONS.lockOut),
    basis: basis("said.source.usualFloat", "common practice"),
  },
  {
    id: "feed",
    title: "Bring on the feed",
    how: [
      "Order of starting: water, drive, feed. Begin with half of the feed and spread it evenly along the feed box.",
      "Weigh a litre of the feed pulp for its solids. Raise the feed step by step while the bands stay apart.",
    ],
    checks: () => [{ name: "feed solids by weight", unit: "%", least: 20, most: 30 }],
    caution: inEnglish(CAUTIONS.lockOut),
    basis: basis("said.source.usualSolids", "from memory"),
  },
  {
    id: "splitters",
    title: "Set the splitters",
    how: [
      "Wait until the bands stand still, several times what solids take over the deck. Take a photo and ask for advice.",
      "Move one splitter at a time, then look again.",
    ],
    checks: ({ splitters }) =>
      splitters.map(({ name, minMm = 0, maxMm }) => ({
        name: `splitter ${name}`,
        unit: "mm",
        least: minMm,
        most: maxMm ?? null,
      })),
    caution: inEnglish(CAUTIONS.lockOut),
    basis: SOURCES.overlap,
  },
  {
    id: "stop",
    title: "Stop in order, and clean up",
    how: [
      "Stop the feed first. Let drive and water run until the deck is clear. Then the drive, then the water.",
      "At the end of a run wash dense grains out of the riffles into the dense launder, and weigh what you find.",
    ],
    checks: () => [],
    caution: inEnglish(CAUTIONS.lockOut),
    basis: basis("said.source.feedLast", "common practice"),
  },
];

export type StepFor = Omit<SetupStep, "checks"> & { readonly checks: readonly Check[] };

/** The steps with their check values for one deck. */
export const setupFor = (deck: Deck): readonly StepFor[] =>
  SETUP_STEPS.map((step) => ({ ...step, checks: step.checks(deck) }));

/** What does not hold of a step: it was left out, a check was not read, or it reads a value outside its range. */
export type SetupFault =
  | { readonly kind: "unknown"; readonly step: string }
  | { readonly kind: "skipped"; readonly step: string }
  | { readonly kind: "unread"; readonly step: string; readonly check: Check }
  | { readonly kind: "outside"; readonly step: string; readonly check: Check; readonly value: number };

/** What of a record does not hold, in the order of the steps, each named by its id. Repeats of one check count by their mean. */
export function setupFaults(deck: Deck, { entries }: SetupRecord): SetupFault[] {
  const steps = setupFor(deck);
  const last = (id: string) => entries.findLast(({ step, done }) => step === id && done);
  const unknown = entries.filter(({ step }) => !steps.some(({ id }) => id === step));
  const found: SetupFault[] = unknown.map(({ step }) => ({ kind: "unknown", step }));
  for (const [i, { id, checks }] of steps.entries()) {
    const entry = last(id);
    if (!entry) {
      if (steps.slice(i + 1).some((later) => last(later.id))) found.push({ kind: "skipped", step: id });
      continue;
    }
    for (const check of checks) {
      const { name, least, most } = check;
      const values = entry.values[name];
      if (!values) {
        found.push({ kind: "unread", step: id, check });
        continue;
      }
      const mean = values.reduce((sum, value) => sum + value, 0) / values.length;
      if ((least !== null && mean < least) || (most !== null && mean > most)) {
        found.push({ kind: "outside", step: id, check, value: tenth(mean) });
      }
    }
  }
  return found;
}

/** A check's range in words. */
export function rangeOf({ unit, least, most }: Check): string {
  if (least === null) return most === 0 ? `none (${unit})` : `at most ${most} ${unit}`;
  return most === null ? `at least ${least} ${unit}` : `${least} to ${most} ${unit}`;
}
