import type { TABLE_MINERALS } from "../contract/index.ts";
import type { Measured } from "../process/range.ts";
import { AccountsError, checked } from "./fault.ts";
import { propagate } from "./propagate.ts";

/** Standard atomic weights, conventional or abridged. Source: IUPAC (2021), Pure Appl. Chem. 94, 573. */
const ATOMIC_WEIGHTS = {
  O: 15.999,
  S: 32.06,
  Ca: 40.078,
  Ti: 47.867,
  Cr: 51.9961,
  Fe: 55.845,
  Cu: 63.546,
  Zn: 65.38,
  Sn: 118.71,
  W: 183.84,
  Au: 196.96657,
  Pb: 207.2,
} as const;
type Element = keyof typeof ATOMIC_WEIGHTS;

/** The metal that is assayed, and the atoms. */
export const PURE_MINERALS = {
  cassiterite: ["Sn", { Sn: 1, O: 2 }],
  galena: ["Pb", { Pb: 1, S: 1 }],
  sphalerite: ["Zn", { Zn: 1, S: 1 }],
  chalcopyrite: ["Cu", { Cu: 1, Fe: 1, S: 2 }],
  scheelite: ["W", { Ca: 1, W: 1, O: 4 }],
  chromite: ["Cr", { Fe: 1, Cr: 2, O: 4 }],
  ilmenite: ["Ti", { Fe: 1, Ti: 1, O: 3 }],
  "native gold": ["Au", { Au: 1 }],
  "native copper": ["Cu", { Cu: 1 }],
} as const satisfies Record<(typeof TABLE_MINERALS)[number], readonly [Element, Partial<Record<Element, number>>]>;
export type PureMineral = keyof typeof PURE_MINERALS;

/** Metal in the pure mineral, % by weight. Real grains hold foreign atoms and are poorer by some per cent. */
export function metalPercent(mineral: PureMineral): number {
  const [metal, atoms] = PURE_MINERALS[mineral] as readonly [Element, Partial<Record<Element, number>>];
  const weights = Object.entries(atoms).map(([element, n]) => n * ATOMIC_WEIGHTS[element as Element]);
  return (100 * (atoms[metal] ?? 0) * ATOMIC_WEIGHTS[metal]) / weights.reduce((a, b) => a + b, 0);
}

/** Y m (c − f) / ((m − f) f), of shares and per cent as below. */
export const separationOf = (feed: number, product: number, yieldShare: number, mineral: number): number =>
  (yieldShare * mineral * (product - feed)) / ((mineral - feed) * feed);

/**
 * Separation efficiency, 0 to 1: recovery of the mineral less recovery of the gangue, Y m (c − f) / ((m − f) f).
 *
 * The greatest technical separation is not the greatest worth: prices decide that.
 *
 * @param feed, product  Grade of the metal, %.
 * @param yieldShare     Dry mass of product over that of feed, 0 to 1.
 * @param mineralPercent Metal in the pure mineral, %.
 * @throws {AccountsError} `no-separation` for a grade that is not below the pure mineral's.
 * Source: Schulz (1970), Trans. SME-AIME 247, 81 (from memory).
 */
export function separationEfficiency(
  feed: Measured,
  product: Measured,
  yieldShare: Measured,
  mineralPercent: number,
): Measured {
  checked("Yield, share", yieldShare.value, 0, 1);
  for (const { value } of [feed, product]) {
    if (value > 0 && value < mineralPercent) continue;
    throw new AccountsError(
      "no-separation",
      `A grade of ${value} % does not fit a mineral of ${mineralPercent} %. Correct the assay, or name the right mineral.`,
    );
  }
  return propagate([feed, product, yieldShare], ([f, c, y]) => separationOf(f!, c!, y!, mineralPercent));
}
