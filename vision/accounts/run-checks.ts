import type { RunRecord, RunSample } from "../contract/index.ts";
import type { Measured } from "../process/range.ts";
import { countedShare, magnetShare, panCount } from "./hand-checks.ts";
import type { UsualErrors } from "./run-figures.ts";

/** A quick check by hand, with the interval that holds the truth 19 times of 20 where it is a count. */
export interface HandCheck {
  readonly stream: string;
  readonly what: string;
  readonly found: Measured;
  readonly from: number | null;
  readonly to: number | null;
  readonly unit: "%" | "grains/kg" | "grains";
}

/** What magnet, lens and pan say of each stream of a run. */
export function checksOf(run: RunRecord, usual: UsualErrors): HandCheck[] {
  const percent = ({ value, error }: Measured) => ({ value: 100 * value, error: 100 * error });
  return run.streams.flatMap(({ name: stream }): HandCheck[] => {
    const of = (kind: RunSample["kind"]) => run.samples.filter((one) => one.stream === stream && one.kind === kind);
    const tries = of("magnet").flatMap(({ figures: { held, charge } }) =>
      held && charge ? [{ heldGrams: usual.of(held, "masses"), chargeGrams: usual.of(charge, "masses") }] : [],
    );
    const magnetic = tries.length > 0 ? percent(magnetShare(tries)) : null;
    const counts = of("count").flatMap(({ figures }) => {
      const all = Object.values(figures).reduce((sum, { value }) => sum + value, 0);
      return Object.entries(figures).map(([kind, { value }]): HandCheck => {
        const share = countedShare(value, all);
        const found = percent(share);
        return { stream, what: `${kind} grains`, found, from: 100 * share.from, to: 100 * share.to, unit: "%" };
      });
    });
    const pans = of("pan").flatMap(({ figures: { grains, panned } }): HandCheck[] => {
      if (!grains) return [];
      const count = panCount(grains.value);
      const kg = panned ? panned.value : 1;
      const found = { value: count.value / kg, error: count.error / kg };
      return [
        { stream, what: "pan", found, from: count.from / kg, to: count.to / kg, unit: panned ? "grains/kg" : "grains" },
      ];
    });
    return [
      ...(magnetic ? [{ stream, what: "magnet", found: magnetic, from: null, to: null, unit: "%" } as const] : []),
      ...counts,
      ...pans,
    ];
  });
}
