/** How a series left its level: for a while, at once and for good, or little by little. */
export type ChangeKind = "surge" | "step" | "drift";

export interface ChangeFit {
  /** Null: two kinds fit too alike to say, or there are too few values since. */
  readonly kind: ChangeKind | null;
  /** Index of the first value of the change. */
  readonly since: number;
  /** How far off the level before it stands now or, of a surge, stood; in the unit of the values. */
  readonly size: number;
  /** By how much a drift moves from one value to the next; null for others. */
  readonly perValue: number | null;
}

/** A kind is named when it is at least this much likelier than the next: 3 to 1 (judgement). */
const LIKELIER = 3;
/** Fewer values than this since the change tell no kind. */
const LEAST_SINCE = 4;
/** Fewer values than this before it tell no level. */
const LEAST_BEFORE = 3;

/**
 * Which one change fits best to values in order, level and spread unknown.
 *
 * @param values  At least eight, not all alike. Not modified.
 * Method: least squares for each kind, over all its beginnings and, of a surge, ends; n ln(squares) with a price of ln n for
 * each number fitted. Source: Schwarz (1978), Ann. Stat. 6, 461; Hinkley (1970), Biometrika 57, 1 (from memory).
 */
export function kindOfChange(values: readonly number[]): ChangeFit {
  const n = values.length;
  const [sums, moments] = [running(values, (v) => v), running(values, (v, i) => i * v)];
  const total = sums[n]!;
  const around = values.reduce((all, v) => all + (v - total / n) ** 2, 0);
  const best = new Map<ChangeKind, Kept>();
  const keep = (
    kind: ChangeKind,
    since: number,
    size: number,
    perValue: number | null,
    gain: number,
    numbers: number,
  ) => {
    const cost = n * Math.log(Math.max(around - gain, 1e-12 * around)) + numbers * Math.log(n);
    if (cost < (best.get(kind)?.cost ?? Number.POSITIVE_INFINITY))
      best.set(kind, { kind, since, size, perValue, cost });
  };
  for (let since = LEAST_BEFORE; since < n; since++) {
    for (let end = since + 1; end <= n; end++) {
      const count = end - since;
      const inside = sums[end]! - sums[since]!;
      const size = inside / count - (total - inside) / (n - count);
      const gain = (size ** 2 * count * (n - count)) / n;
      if (end === n) keep("step", since, size, null, gain, 3);
      else keep("surge", since, size, null, gain, 4);
    }
    // a ramp of 1, 2, 3 … from here on
    const count = n - since;
    const [rise, squares] = [(count * (count + 1)) / 2, (count * (count + 1) * (2 * count + 1)) / 6];
    const against = moments[n]! - moments[since]! - (since - 1) * (total - sums[since]!);
    const spread = squares - rise ** 2 / n;
    const perValue = (against - (rise * total) / n) / spread;
    keep("drift", since, perValue * count, perValue, perValue ** 2 * spread, 3);
  }
  const [first, next] = [...best.values()].toSorted((a, b) => a.cost - b.cost) as [Kept, Kept];
  const clear = next.cost - first.cost > 2 * Math.log(LIKELIER) && n - first.since >= LEAST_SINCE;
  return { kind: clear ? first.kind : null, since: first.since, size: first.size, perValue: first.perValue };
}
type Kept = ChangeFit & { readonly cost: number };

function running(values: readonly number[], of: (value: number, i: number) => number): number[] {
  const sums = [0];
  values.forEach((value, i) => {
    sums.push(sums[i]! + of(value, i));
  });
  return sums;
}
