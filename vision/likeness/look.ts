import type { BandLook, Product, Reading } from "../contract/index.ts";
import type { Marked } from "../mark-up/agreement.ts";
import type { Stretch } from "../mark-up/stretches.ts";

/** What the bands of a deck look like, free of its size: what references are held against. */

const BANDS = ["dense", "middling", "light"] as const satisfies readonly Product[];
const KINDS = ["bare", "dense", "middling", "light", "dry"] as const;
const four = (share: number) => Math.round(1e4 * Math.min(1, Math.max(0, share))) / 1e4;

/** Length of the outlet of a reading's deck, mm; of a deck that is no rectangle it is nearly that. */
export function outletMmOf({
  grid,
  bands,
  outletUnseenMm,
}: Pick<Reading, "grid" | "bands" | "outletUnseenMm">): number {
  const round = grid ? (grid.columns + grid.rows) * grid.mmPerCell : 1;
  const ends = [
    ...bands.flatMap(({ outlet }) => outlet.map(({ toMm }) => toMm)),
    ...outletUnseenMm.map(([, to]) => to),
  ];
  return Math.max(round, ...ends);
}

/** @returns null for a reading of an unusable photo. */
export function lookOfReading(reading: Reading): BandLook | null {
  const { cover, bands, dryPatches, rills } = reading;
  if (!cover) return null;
  const stretches = bands.flatMap(({ kind, outlet }) =>
    outlet.map(({ fromMm, toMm }) => ({ class: kind, fromMm, toMm })),
  );
  return {
    bands: bandsOf(stretches, outletMmOf(reading)),
    cover: coverOf(KINDS.map((kind) => cover[kind])),
    dryPatches: dryPatches.length,
    rills: rills.length,
  };
}

/** The look of what a person marked; how many dry patches and rills there are is for them to say. */
export function lookOfMarks(
  { labels }: Pick<Marked, "labels">,
  stretches: readonly Stretch[],
  outletMm: number,
  { dryPatches, rills }: Pick<BandLook, "dryPatches" | "rills">,
): BandLook {
  const counts = new Float64Array(6);
  for (const label of labels) counts[label]!++;
  return {
    bands: bandsOf(stretches, outletMm),
    cover: coverOf([...counts.subarray(1)]),
    dryPatches,
    rills,
  };
}

function bandsOf(stretches: readonly Stretch[], outletMm: number): BandLook["bands"] {
  const band = (kind: Product) => {
    const own = stretches.filter((one) => one.class === kind);
    if (own.length === 0) return null;
    return {
      from: four(Math.min(...own.map(({ fromMm }) => fromMm)) / outletMm),
      to: four(Math.max(...own.map(({ toMm }) => toMm)) / outletMm),
      width: four(own.reduce((sum, { fromMm, toMm }) => sum + toMm - fromMm, 0) / outletMm),
      stretches: own.length,
    };
  };
  return { dense: band("dense"), middling: band("middling"), light: band("light") };
}

/** Shares of what is seen, from amounts in the order of `KINDS`. */
function coverOf(amounts: readonly number[]): BandLook["cover"] {
  const seen = amounts.reduce((sum, n) => sum + n, 0) || 1;
  return Object.fromEntries(KINDS.map((kind, k) => [kind, four(amounts[k]! / seen)])) as BandLook["cover"];
}

/** Numbers in a look's vector: six a band, and the cover. */
export const LOOK_NUMBERS = 6 * BANDS.length + KINDS.length;
/** Where a band's edges are taken to lie where there is none, so that only its absence counts. */
const USUAL: Readonly<Record<Product, readonly [from: number, to: number]>> = {
  dense: [0.05, 0.2],
  middling: [0.2, 0.4],
  light: [0.4, 0.85],
};
/** What each number weighs: a judgement, fitted to nothing. Dryness and cover, which a person sees first, before places. */
const WEIGHTS = { missing: 0.5, edge: 1, width: 1, gaps: 0.5, parts: 0.35 / 3, cover: 1.2, dry: 2 } as const;

/** A look as numbers, such that nearness in all of them is likeness. */
export function lookVector({ bands, cover }: BandLook): Float32Array {
  const out: number[] = [];
  for (const kind of BANDS) {
    const band = bands[kind];
    const [from, to] = band ? [band.from, band.to] : USUAL[kind];
    const width = band?.width ?? to - from;
    out.push(
      band ? 0 : WEIGHTS.missing,
      WEIGHTS.edge * from,
      WEIGHTS.edge * to,
      WEIGHTS.width * Math.sqrt(width),
      WEIGHTS.gaps * (to > from ? 1 - width / (to - from) : 0),
      WEIGHTS.parts * Math.log2(band ? Math.min(8, band.stretches) : 1),
    );
  }
  for (const kind of KINDS) out.push((kind === "dry" ? WEIGHTS.dry : WEIGHTS.cover) * Math.sqrt(cover[kind]));
  return Float32Array.from(out);
}
