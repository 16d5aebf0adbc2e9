import type { Told } from "../contract/index.ts";
import type { Measured } from "../process/range.ts";
import type { Basis } from "../sources.ts";
import { AccountsError, checked } from "./fault.ts";
import { countedShare } from "./hand-checks.ts";
import { propagate } from "./propagate.ts";

/** One screen fraction of the middling. */
export interface MiddlingFraction {
  /** Between which screen openings, mm. */
  readonly sizeMm: readonly [from: number, to: number];
  /** Dry, in any unit, alike for all. */
  readonly mass: Measured;
  /** Grade, in the unit of the assays; null when it was not assayed. */
  readonly grade: Measured | null;
  /** Grains under the lens; null when none were counted. */
  readonly grains: { readonly freeDense: number; readonly freeLight: number; readonly locked: number } | null;
}

/** Locked grains make true middling; free grains in the wrong place, fine dense beside coarse light, make false. */
export type MiddlingKind = "locked" | "misplaced" | "mixed" | "unsure";

export interface MiddlingTest {
  readonly kind: MiddlingKind;
  /** Of the grains that hold dense mineral, the share that is locked; null when none were counted. */
  readonly lockedShare: Measured | null;
  /** Grade of the finer over that of the coarser half; null without assays of two fractions. */
  readonly fineOverCoarse: Measured | null;
  readonly because: readonly Told[];
  readonly basis: readonly Basis[];
}

/** Locked grains among those with dense in them: above the first it is true middling, below the second false (judgement). */
const MOSTLY = 0.6;
const HARDLY = 0.4;
/** The finer half this many times as rich as the coarser is a size effect; below the second there is none (judgement). */
const RICHER = 2;
const ALIKE = 1.5;
/** Standard errors that a test must lie beyond its limit. */
const SURE = 2;

const BASIS: readonly Basis[] = [
  {
    source:
      "Wills, Mineral Processing Technology: locked grains go to regrinding, misplaced free grains to the table again",
    kind: "from memory",
  },
  {
    source:
      "Screen the middling: dense in the fine half and light in the coarse half are misplaced; both in all sizes are locked",
    kind: "common practice",
  },
];

/**
 * True or false middling? Grains under the lens decide where enough were counted; else the grades of the finer and the
 * coarser half.
 *
 * @throws {AccountsError} `too-few` without a fraction; `out-of-range`.
 * Source: two kinds of middling, Wills (from memory); the tests are common practice, their limits judgement.
 */
export function testMiddling(fractions: readonly MiddlingFraction[]): MiddlingTest {
  if (fractions.length === 0)
    throw new AccountsError("too-few", "Screen the middling, or count grains of it unscreened.");
  for (const { sizeMm, mass } of fractions) {
    checked("Screen opening, mm", sizeMm[0], 0, sizeMm[1]);
    checked("Mass of a fraction", mass.value, 0);
  }
  const lockedShare = lockedShareOf(fractions);
  const fineOverCoarse = halvesOf(fractions);
  const [byGrains, bySize] = [grainsSay(lockedShare), sizesSay(fineOverCoarse)];
  const kind = byGrains === "unsure" ? bySize : byGrains;
  return {
    kind,
    lockedShare,
    fineOverCoarse,
    because: [
      ...(lockedShare ? [{ code: "mid.locked", values: { share: inPercent(lockedShare) } }] : []),
      ...(fineOverCoarse ? [{ code: "mid.sizes", values: { times: { ...fineOverCoarse, unit: "" } } }] : []),
      ...(byGrains !== "unsure" && bySize !== "unsure" && byGrains !== bySize
        ? [{ code: "mid.disagree", values: {} }]
        : []),
      ...(kind === "unsure" ? [{ code: "mid.count", values: {} }] : []),
    ],
    basis: BASIS,
  };
}

const inPercent = ({ value, error }: Measured) => ({ value: 100 * value, error: 100 * error, unit: "%" });

/** Fractions weigh by their mass, so that a fine one full of grains does not speak for all. */
function lockedShareOf(fractions: readonly MiddlingFraction[]): Measured | null {
  const counted = fractions.flatMap(({ mass, grains }) => {
    const all = grains ? grains.freeDense + grains.locked : 0;
    if (!grains || all === 0) return [];
    const { freeDense, freeLight, locked } = grains;
    const total = freeDense + freeLight + locked;
    return [{ weight: (mass.value * all) / total, share: countedShare(locked, all) }];
  });
  const whole = counted.reduce((sum, { weight }) => sum + weight, 0);
  if (whole === 0) return null;
  const shares = counted.map(({ share }) => share);
  return propagate(shares, (v) => v.reduce((sum, share, i) => sum + share * counted[i]!.weight, 0) / whole);
}

/** Split where half of the mass lies on either side, as near as whole fractions come. */
function halvesOf(fractions: readonly MiddlingFraction[]): Measured | null {
  const assayed = fractions
    .flatMap(({ sizeMm, mass, grade }) => (grade ? [{ middle: sizeMm[0] + sizeMm[1], mass, grade }] : []))
    .toSorted((a, b) => a.middle - b.middle);
  if (assayed.length < 2) return null;
  const total = assayed.reduce((sum, { mass }) => sum + mass.value, 0);
  const below = assayed.map((_, i) => assayed.slice(0, i + 1).reduce((sum, { mass }) => sum + mass.value, 0));
  const cuts = below.slice(0, -1).map((mass) => Math.abs(mass - total / 2));
  const split = cuts.indexOf(Math.min(...cuts)) + 1;
  const inputs = assayed.flatMap(({ mass, grade }) => [mass, grade]);
  const gradeOf = (v: readonly number[], from: number, to: number) => {
    let [metal, mass] = [0, 0];
    for (let i = from; i < to; i++) {
      metal += v[2 * i]! * v[2 * i + 1]!;
      mass += v[2 * i]!;
    }
    return metal / mass;
  };
  const values = inputs.map(({ value }) => value);
  if (!(gradeOf(values, split, assayed.length) > 0)) return null;
  return propagate(inputs, (v) => gradeOf(v, 0, split) / gradeOf(v, split, assayed.length));
}

function grainsSay(locked: Measured | null): MiddlingKind {
  if (!locked) return "unsure";
  if (locked.value - SURE * locked.error > MOSTLY) return "locked";
  if (locked.value + SURE * locked.error < HARDLY) return "misplaced";
  const between = locked.value - locked.error > HARDLY / 2 && locked.value + locked.error < 1 - HARDLY / 2;
  return between && locked.error < 0.1 ? "mixed" : "unsure";
}

function sizesSay(ratio: Measured | null): MiddlingKind {
  if (!ratio) return "unsure";
  if (ratio.value - SURE * ratio.error > RICHER) return "misplaced";
  return ratio.value + SURE * ratio.error < ALIKE ? "locked" : "unsure";
}
