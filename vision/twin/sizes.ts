import { above0 } from "../process/range.ts";
import type { TwinMaterial } from "./transport.ts";

/** Normal deviates in the middle of seven like shares: sizes are log-normal. */
const DEVIATES = [-1.465, -0.792, -0.366, 0, 0.366, 0.792, 1.465];
/** The range given for a material's sizes holds 90 % of it: ± 1.645 deviations. */
const RANGE_DEVIATIONS = 3.29;

/** Sizes that stand for seven like shares of a material, finest first, µm. @throws {ProcessError} `out-of-range`. */
export function sizesUm({ sizeUm: [finest, coarsest] }: Pick<TwinMaterial, "sizeUm">): number[] {
  above0("Finest size, µm", finest);
  return DEVIATES.map((z) => finest * (coarsest / finest) ** (0.5 + z / RANGE_DEVIATIONS));
}

/** The middle one as a ratio, µm. */
export const middleUm = ({ sizeUm: [finest, coarsest] }: Pick<TwinMaterial, "sizeUm">): number =>
  Math.sqrt(finest * coarsest);
