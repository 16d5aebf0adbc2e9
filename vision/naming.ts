import { type Appearance, labOf } from "./appearance.ts";
import { deltaE2000, srgbToLab, type Triple } from "./colour.ts";
import type { MaterialProfile } from "./contract/index.ts";
import { orderFan } from "./fan-order.ts";
import type { FlowPrior } from "./flow-prior.ts";
import { CLASS_ORDER, type TapOnGrid } from "./segment.ts";

/** What each look stands for. */
export interface Naming {
  /** How much each look makes up each class of CLASS_ORDER; a row sums to 1 or, for a class not there, to 0. */
  readonly shares: Float32Array[];
  /** Prior of each class at each cell before any neighbourhood is known, plane by plane. */
  readonly prior: Float32Array[];
}

/** Softness of the fan's cuts, as a share of the outlet path. */
const SOFT = 0.035;

/**
 * Say what each look stands for: without taps by the order in which solids leave the deck (fan-order.ts), with taps by
 * likeness to what was tapped. Dense is not assumed dark.
 */
export function nameLooks(
  looks: Appearance,
  flow: FlowPrior,
  taps: readonly TapOnGrid[],
  profile?: MaterialProfile,
): Naming {
  const colours = looks.looks.map(({ mean }) => labOf(mean));
  const cells = looks.nearest.length;
  const named = taps.length ? byTaps(looks, taps) : byOrder(looks, flow, colours, profile);
  return { shares: named.shares, prior: named.prior ?? CLASS_ORDER.map(() => new Float32Array(cells).fill(1)) };
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
  return {
    shares: [...order.shares, new Float32Array(colours.length)],
    prior: [...prior, new Float32Array(looks.nearest.length)],
  };
}

/** Each look takes the class of the tap it resembles most. */
function byTaps(looks: Appearance, taps: readonly TapOnGrid[]) {
  const shares = CLASS_ORDER.map(() => new Float32Array(looks.looks.length));
  looks.looks.forEach(({ mean, weight }, look) => {
    const distances = CLASS_ORDER.map((name) => nearestTap(looks, mean, taps, name));
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
