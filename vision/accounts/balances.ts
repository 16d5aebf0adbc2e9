import type { Measured } from "../process/range.ts";
import { said } from "../said.ts";
import { AccountsError, checked } from "./fault.ts";
import { Matrix, takeApart } from "./linear-algebra.ts";

/** Solids on their way from one place of work to the next. */
export interface Stream {
  readonly name: string;
  /** The node it leaves and the node it enters; null where it comes from outside or leaves for good. */
  readonly from: string | null;
  readonly to: string | null;
  /** Dry mass, or mass an hour; null when nobody weighed it. Error 0: taken as exact. */
  readonly mass: Measured | null;
  /** Grades by name, such as `{ Sn: { value: 43, error: 0.4 } }`; one that is left out was not assayed. */
  readonly assays: Readonly<Record<string, Measured>>;
}

/** One figure: the mass of a stream (`assay` null) or one of its assays. */
export interface Item {
  readonly stream: string;
  readonly assay: string | null;
}

export interface ReconcileOptions {
  /** What the assays of each stream sum to, where they are all there is: 100 for %, 1 for shares. */
  readonly assaysSumTo?: number;
}

export interface Figure extends Item {
  readonly measured: Measured | null;
}
export interface Figures {
  readonly kinds: readonly string[];
  /** Stream by stream: its mass, then each kind of assay. */
  readonly list: readonly Figure[];
  /** Places in the list. */
  readonly measured: readonly number[];
  readonly unmeasured: readonly number[];
  /** Typical size of the masses, then of each kind. */
  readonly sizes: readonly number[];
}

export function figuresOf(streams: readonly Stream[]): Figures {
  if (streams.length === 0) throw new AccountsError("too-few", said("said.runs.noStream"));
  const kinds = [...new Set(streams.flatMap(({ assays }) => Object.keys(assays)))];
  const list = streams.flatMap(({ name, mass, assays }): Figure[] => [
    { stream: name, assay: null, measured: mass },
    ...kinds.map((assay) => ({ stream: name, assay, measured: assays[assay] ?? null })),
  ]);
  for (const { stream, assay, measured } of list) {
    if (!measured) continue;
    const what = assay === null ? `Mass of ${stream}` : `${assay} of ${stream}`;
    checked(what, measured.value, 0);
    checked(`Standard error of: ${what}`, measured.error, 0);
  }
  if (!streams.some(({ mass }) => mass && mass.value > 0)) {
    throw new AccountsError("too-few", said("said.runs.noMass"));
  }
  const place = (is: boolean) => list.flatMap((figure, i) => ((figure.measured !== null) === is ? [i] : []));
  const sizes = [null, ...kinds].map((kind) => {
    const values = list.flatMap(({ assay, measured }) => (assay === kind && measured ? [measured.value] : []));
    return Math.max(...values, Number.MIN_VALUE);
  });
  return { kinds, list, measured: place(true), unmeasured: place(false), sizes };
}

export const sizeOf = ({ sizes }: Figures, x: readonly number[], i: number) =>
  Math.max(Math.abs(x[i]!), 1e-3 * sizes[i % sizes.length]!);

/** One equation that must be 0, as terms: a mass, a mass × an assay, or an assay, with its sign. */
export interface Balance {
  readonly terms: readonly { readonly sign: number; readonly places: readonly number[] }[];
  readonly constant: number;
}

export function balancesOf(
  streams: readonly Stream[],
  { kinds }: Figures,
  { assaysSumTo }: ReconcileOptions,
): Balance[] {
  const nodes = nodesOf(streams);
  if (nodes.length === 0) throw new AccountsError("too-few", said("said.runs.noNode"));
  for (const node of nodes) {
    const [into, out] = [streams.some(({ to }) => to === node), streams.some(({ from }) => from === node)];
    if (into && out) continue;
    throw new AccountsError("too-few", said(into ? "said.runs.nothingLeaves" : "said.runs.nothingEnters", { node }));
  }
  const width = kinds.length + 1;
  const atNodes = nodes.flatMap((node) =>
    Array.from({ length: width }, (_, kind): Balance => {
      const terms = streams.flatMap(({ from, to }, s) => {
        const sign = (to === node ? 1 : 0) - (from === node ? 1 : 0);
        return sign === 0 ? [] : [{ sign, places: kind === 0 ? [s * width] : [s * width, s * width + kind] }];
      });
      return { terms, constant: 0 };
    }),
  );
  if (assaysSumTo === undefined) return atNodes;
  const sums = streams.map((_, s): Balance => {
    const terms = kinds.map((_, k) => ({ sign: 1, places: [s * width + 1 + k] }));
    return { terms, constant: -assaysSumTo };
  });
  return [...atNodes, ...sums];
}

/** What each balance is off by and how each figure moves it, as shares of what flows through it. */
export function openness(balances: readonly Balance[], x: readonly number[]) {
  return balances.map(({ terms, constant }) => {
    const flows = terms.map(({ sign, places }) => sign * places.reduce((product, i) => product * x[i]!, 1));
    const through = Math.max(
      flows.reduce((sum, flow) => sum + Math.abs(flow), Math.abs(constant)),
      Number.MIN_VALUE,
    );
    const slopes = new Map<number, number>();
    for (const { sign, places } of terms) {
      for (const i of places) {
        const others = places.filter((other) => other !== i).reduce((product, other) => product * x[other]!, 1);
        slopes.set(i, (slopes.get(i) ?? 0) + (sign * others) / through);
      }
    }
    return { off: flows.reduce((sum, flow) => sum + flow, constant) / through, slopes };
  });
}

/** Unmeasured assays start at the mean of those measured, unmeasured masses where those assays would have them. */
export function startOf(streams: readonly Stream[], figures: Figures): number[] {
  const { kinds, list, sizes } = figures;
  const width = kinds.length + 1;
  const x = list.map(({ assay, measured }) => {
    if (measured || assay === null) return measured?.value ?? 0;
    const known = list.flatMap((f) => (f.assay === assay && f.measured ? [f.measured.value] : []));
    return known.reduce((sum, value) => sum + value, 0) / known.length;
  });
  const unknown = streams.flatMap(({ mass }, s) => (mass ? [] : [s]));
  const nodes = nodesOf(streams);
  const rows = nodes.flatMap((node) =>
    Array.from({ length: width }, (_, kind) =>
      streams.map(({ from, to }, s) => {
        const sign = (to === node ? 1 : 0) - (from === node ? 1 : 0);
        return kind === 0 ? sign : (sign * x[s * width + kind]!) / sizes[kind]!;
      }),
    ),
  );
  const system = new Matrix(rows);
  const known = Matrix.columnVector(rows.map((row) => -row.reduce((sum, slope, s) => sum + slope * x[s * width]!, 0)));
  if (unknown.length > 0) {
    const found = takeApart(system.subMatrixColumn(unknown)).inverse.mmul(known).to1DArray();
    unknown.forEach((s, k) => {
      x[s * width] = Math.max(found[k]!, 0.01 * sizes[0]!);
    });
  }
  return x;
}

/** Names of the nodes, in the order in which streams name them. */
export const nodesOf = (streams: readonly Way[]): string[] =>
  [...new Set(streams.flatMap(({ from, to }) => [from, to]))].filter((node) => node !== null);

type Way = Pick<Stream, "from" | "to">;
export const isFeed = ({ from, to }: Way): boolean => from === null && to !== null;
export const isProduct = ({ from, to }: Way): boolean => from !== null && to === null;
