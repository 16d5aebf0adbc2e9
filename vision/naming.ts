import { type Appearance, labOf } from "./appearance.ts";
import { deltaE2000, srgbToLab, type Triple } from "./colour.ts";
import type { MaterialProfile } from "./contract/index.ts";
import { orderFan } from "./fan-order.ts";
import type { FlowPrior } from "./flow-prior.ts";
import { connectedBlobs, type OpenCv } from "./opencv.ts";
import { CLASS_ORDER, type TapOnGrid } from "./segment.ts";

/** bare, dense, middling, light; dry is named afterwards, by shape. */
const NAMED = 4;
/** Dry film shows paler than the wet deck around it, by at least this L* (wet surfaces darken: Lekner & Dorf (1988), Applied Optics 27, 1278-1280). */
const DRY_PALER = 5;

/** What each look stands for. */
export interface Naming {
  /** How much each look makes up each class of CLASS_ORDER; a row sums to 1 or, for a class not there, to 0. */
  readonly shares: Float32Array[];
  /** Prior of bare, dense, middling, light at each cell before any neighbourhood is known, plane by plane. */
  readonly prior: Float32Array[];
}

/** Softness of the fan's cuts, as a share of the outlet path. */
const SOFT = 0.035;

/**
 * Say what each look stands for: without taps by the order in which solids leave the deck (fan-order.ts), with taps by
 * likeness to what was tapped. Dense is not assumed dark.
 */
export function nameLooks(
  cv: OpenCv,
  looks: Appearance,
  flow: FlowPrior,
  taps: readonly TapOnGrid[],
  profile?: MaterialProfile,
): Naming {
  const colours = looks.looks.map(({ mean }) => labOf(mean));
  const cells = looks.nearest.length;
  const named = taps.length ? byTaps(looks, taps) : byOrder(looks, flow, colours, profile);
  const shares = [...named.shares, new Float32Array(colours.length)];
  nameDry(cv, looks, shares, colours, taps);
  return { shares, prior: named.prior ?? [0, 1, 2, 3].map(() => new Float32Array(cells).fill(1)) };
}

function byOrder(looks: Appearance, flow: FlowPrior, colours: readonly Triple[], profile?: MaterialProfile) {
  const bonus = [profile?.dense?.look, profile?.middling?.look, profile?.light?.look].map((look) =>
    colours.map((lab) => likeProfile(lab, look)),
  );
  const order = orderFan(looks, flow, flow.reach, bonus);
  const [top, dense, middling, light] = order.ends as [number, number, number, number, number];
  const step = (at: number) => (share: number) => 1 / (1 + Math.exp(-(share - at) / SOFT));
  const [toDense, toMiddling, toLight, toBare] = [step(top), step(dense), step(middling), step(light)];
  const prior = [0, 1, 2, 3].map(() => new Float32Array(looks.nearest.length));
  flow.outletShare.forEach((share, i) => {
    const stretch = [
      toDense(share) * (1 - toMiddling(share)),
      toMiddling(share) * (1 - toLight(share)),
      toLight(share) * (1 - toBare(share)),
    ];
    let solids = 0;
    stretch.forEach((p, k) => {
      const solid = p * (1 - order.bareIn[k]!);
      prior[k + 1]![i] = 0.02 + solid;
      solids += solid;
    });
    prior[0]![i] = 0.05 + Math.max(0, 1 - solids);
  });
  return { shares: [...order.shares], prior };
}

/** Each look takes the class of the tap it resembles most. */
function byTaps(looks: Appearance, taps: readonly TapOnGrid[]) {
  const shares = [0, 1, 2, 3].map(() => new Float32Array(looks.looks.length));
  looks.looks.forEach(({ mean, weight }, look) => {
    const distances = CLASS_ORDER.slice(0, NAMED).map((name) => nearestTap(looks, mean, taps, name));
    const least = Math.min(...distances);
    const closeness = distances.map((d) => Math.exp(-(d - least) / 30));
    const sum = closeness.reduce((a, b) => a + b, 0);
    closeness.forEach((c, k) => {
      shares[k]![look] = (weight * c) / sum;
    });
  });
  for (const row of shares) {
    const sum = row.reduce((a, b) => a + b, 0);
    if (sum > 0) for (let k = 0; k < row.length; k++) row[k]! /= sum;
  }
  return { shares, prior: undefined };
}

/** Squared distance in feature space to the nearest tap of a class; a large one where the class was not tapped. */
function nearestTap(looks: Appearance, mean: readonly number[], taps: readonly TapOnGrid[], name: string): number {
  const { columns, rows } = looks.grid;
  const of = taps.filter((tap) => tap.class === name);
  if (!of.length) return 1e4;
  return Math.min(
    ...of.map(({ column, row }) => {
      const around = mean.map(() => 0);
      let n = 0;
      for (let y = Math.max(0, row - 2); y <= Math.min(rows - 1, row + 2); y++) {
        for (let x = Math.max(0, column - 2); x <= Math.min(columns - 1, column + 2); x++) {
          if (!looks.seen[y * columns + x]) continue;
          n++;
          for (let f = 0; f < mean.length; f++) around[f]! += looks.features[f]![y * columns + x]!;
        }
      }
      return n ? mean.reduce((s, m, f) => s + (m - around[f]! / n) ** 2, 0) : 1e4;
    }),
  );
}

/** Log preference of a colour for a material's stated look, at most 1. */
function likeProfile(lab: Triple, look: MaterialProfile["deckLook"]): number {
  if (look?.rgb) return 1 - deltaE2000(lab, srgbToLab(look.rgb)) / 12;
  const aim = look?.tone && { dark: 25, mid: 50, pale: 75 }[look.tone];
  return aim ? 1 - Math.abs(lab[0] - aim) / 20 : 0;
}

/** A look that keeps to few compact patches, paler than the wet deck, is dry deck; so is what was tapped dry. */
function nameDry(
  cv: OpenCv,
  looks: Appearance,
  rows: Float32Array[],
  colours: readonly Triple[],
  taps: readonly TapOnGrid[],
) {
  const { columns, rows: gridRows, mmPerCell } = looks.grid;
  const main = rows[0]!.reduce((best, share, k) => (share > (rows[0]![best] ?? 0) ? k : best), -1);
  colours.forEach((lab, k) => {
    const tapped = taps.some((tap) => tap.class === "dry" && looks.nearest[tap.row * columns + tap.column] === k);
    if (!tapped) {
      if (main < 0 || k === main || lab[0] < colours[main]![0] + DRY_PALER) return;
      const mask = looks.nearest.map((look) => (look === k ? 1 : 0)) as unknown as Uint8Array;
      const { blobs } = connectedBlobs(cv, Uint8Array.from(mask), columns, gridRows);
      const all = blobs.reduce((s, b) => s + b.cells, 0);
      const compact = blobs.filter((b) => {
        const [long, short] = [Math.max(b.width, b.height), Math.min(b.width, b.height)];
        return b.cells * mmPerCell ** 2 > 1500 && long < 4 * short && b.cells > 0.35 * b.width * b.height;
      });
      const kept = compact
        .sort((a, b) => b.cells - a.cells)
        .slice(0, 4)
        .reduce((s, b) => s + b.cells, 0);
      if (kept < 0.5 * all) return;
    }
    for (const row of rows) row[k]! *= 0.1;
    rows[4]![k] = 1;
  });
}
