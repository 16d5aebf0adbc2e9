import type { Product, Reading } from "../contract/index.ts";
import type { Measured } from "../process/range.ts";
import { propagate } from "./propagate.ts";

/** What a photo says that one launder carries. */
export interface LaunderShares {
  readonly launder: string;
  /** Dense's part of the outlet length that falls into it, 0 to 1: stands for the grade. Null when nothing falls into it. */
  readonly denseShare: Measured | null;
  /** The part of all dense that falls into it, 0 to 1: stands for the recovery. Null when no dense is seen. */
  readonly denseCarried: Measured | null;
}

interface Stretch {
  readonly kind: Product;
  readonly from: Measured;
  readonly to: Measured;
}

/**
 * What each launder carries, by outlet length, with the errors that the bands' edges bring.
 *
 * Lengths are not masses: a dense band is thicker than a light one. Only held against assays do they tell a grade.
 *
 * @returns one entry a launder of the reading; none for an unusable photo.
 */
export function launderSharesOf({ bands, launders }: Reading): LaunderShares[] {
  const stretches = bands.flatMap(({ kind, outlet }): Stretch[] =>
    outlet.map(({ fromMm, toMm, fromErrorMm, toErrorMm }) => ({
      kind,
      from: { value: fromMm, error: fromErrorMm ?? 0 },
      to: { value: toMm, error: toErrorMm ?? 0 },
    })),
  );
  const edges = stretches.flatMap(({ from, to }) => [from, to]);
  return launders.map(({ name, fromMm, toMm }) => {
    const length = (v: readonly number[], which: (stretch: Stretch) => boolean, within: boolean) =>
      stretches.reduce((sum, stretch, i) => {
        if (!which(stretch)) return sum;
        const [from, to] = [v[2 * i]!, v[2 * i + 1]!];
        return sum + (within ? Math.max(0, Math.min(to, toMm) - Math.max(from, fromMm)) : to - from);
      }, 0);
    const dense = (stretch: Stretch) => stretch.kind === "dense";
    const any = () => true;
    const ratio = (part: (v: readonly number[]) => number, whole: (v: readonly number[]) => number) => {
      const values = edges.map(({ value }) => value);
      return whole(values) > 0 ? propagate(edges, (v) => part(v) / whole(v)) : null;
    };
    return {
      launder: name,
      denseShare: ratio(
        (v) => length(v, dense, true),
        (v) => length(v, any, true),
      ),
      denseCarried: ratio(
        (v) => length(v, dense, true),
        (v) => length(v, dense, false),
      ),
    };
  });
}
