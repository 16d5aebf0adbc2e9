import { type Appearance, labOf } from "./appearance.ts";
import { deltaE2000, srgbToLab, type Triple } from "./colour.ts";
import type { MaterialProfile } from "./contract/index.ts";
import { orderFan } from "./fan-order.ts";
import type { FlowPrior } from "./flow-prior.ts";
import { keeping } from "./keeping.ts";
import { type FirstLook, planeOn } from "./model/first-look.ts";
import { CLASS_ORDER, type TapOnGrid } from "./segment.ts";

/** What each look stands for. */
export interface Naming {
  /** How much each look makes up each class of CLASS_ORDER; a row sums to 1 or, for a class not there, to 0. */
  readonly shares: Float32Array[];
  /** Prior of each class at each cell before any neighbourhood is known, plane by plane. */
  readonly prior: Float32Array[];
}

/** However sure the model is, each class keeps this much of a chance. */
const FLOOR = 0.05;
/** The model's word counts for so many independent ones (measured on scenes: at 1 the photo's own colours outvote it too often). */
const TRUST = 2;
/** Middling counts for more than the model says: training left it out more often than tables do (from scenes). */
const MIDDLING_FAVOUR = 1.4;
/** However sure the fan's order is, likewise. */
const ORDER_FLOOR = 0.1;
/** Less than this from the model is no word of a dry film. */
const DRY_LEAST = 0.1;
/** Two classes whose looks overlap this much (Bhattacharyya's coefficient, 1: the same) cannot be told apart in this photo. */
const SAME_LOOK = 0.9;
/** Softness of the fan's cuts, as a share of the outlet path. */
const SOFT = 0.035;

/**
 * Say what each look stands for: without taps by the order in which solids leave the deck (fan-order.ts), with taps by
 * likeness to what was tapped. Dense is not assumed dark.
 */
export function nameLooks(
  looks: Appearance,
  tapped: boolean,
  flow: FlowPrior,
  taps: readonly TapOnGrid[],
  profile?: MaterialProfile,
): Naming {
  const colours = looks.looks.map(({ mean }) => labOf(mean));
  const cells = looks.nearest.length;
  if (tapped) {
    return { shares: byTaps(taps), prior: CLASS_ORDER.map(() => new Float32Array(cells).fill(1)) };
  }
  const named = byOrder(looks, flow, colours, profile);
  obeyTaps(named.shares, looks, taps);
  return named;
}

function byOrder(
  looks: Appearance,
  flow: FlowPrior,
  colours: readonly Triple[],
  profile?: MaterialProfile,
  model?: readonly Float32Array[],
) {
  const bonus = [profile?.dense?.look, profile?.middling?.look, profile?.light?.look].map((look) =>
    colours.map((lab) => likeProfile(lab, look)),
  );
  const order = orderFan(looks, flow, flow.reach, bonus, model);
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

/**
 * Say what each look stands for by where the learned model sees each class: the look's share of the cells that the model
 * gives to the class, each by its probability.
 */
export function nameByModel(
  looks: Appearance,
  fit: readonly Float32Array[],
  first: FirstLook,
  flow: FlowPrior,
  taps: readonly TapOnGrid[],
  profile?: MaterialProfile,
): Naming {
  const isTold = taps.some((tap) => tap.class === "dense" || tap.class === "middling");
  const { shares, prior } = modelNames(looks, fit, first, flow, isTold, profile);
  const obeying = shares.map((row) => row.slice());
  obeyTaps(obeying, looks, taps);
  return { shares: obeying, prior };
}

/** The same before any tap. @param isTold  Whether somebody says that a solid shows beside the light. */
const modelNames = keeping(function modelNames(
  looks: Appearance,
  fit: readonly Float32Array[],
  first: FirstLook,
  flow: FlowPrior,
  isTold: boolean,
  profile: MaterialProfile | undefined,
): Naming {
  const cells = looks.nearest.length;
  const prior = CLASS_ORDER.map((_, k) => planeOn(first, k, looks.grid));
  // the model mistakes bare deck for dry too often to be heard below this (from scenes and samples)
  prior[4] = prior[4]!.map((p) => Math.max(0, p - DRY_LEAST));
  const weights = looks.looks.map(({ weight }) => weight);
  const rows = prior.map(() => Float32Array.from(fit, () => 0));
  for (let i = 0; i < cells; i += 3) {
    if (!looks.seen[i]) continue;
    let sum = 1e-9;
    for (let c = 0; c < fit.length; c++) sum += fit[c]![i]! * weights[c]!;
    for (let k = 0; k < rows.length; k++) {
      const row = rows[k]!;
      const sure = prior[k]![i]! ** 2;
      for (let c = 0; c < fit.length; c++) row[c]! += (sure * fit[c]![i]! * weights[c]!) / sum;
    }
  }
  const shares = rows.map((row) => {
    const total = row.reduce((a, b) => a + b, 0);
    // a class that hardly shows has no look of its own
    return total < 0.0005 * cells ? row.fill(0) : row.map((value) => value / total);
  });
  const [, dense, , light] = shares as [Float32Array, Float32Array, Float32Array, Float32Array];
  if (!isTold && overlap(dense, light) > SAME_LOOK) allLight(prior);
  const colours = looks.looks.map(({ mean }) => labOf(mean));
  const ordered = byOrder(looks, flow, colours, profile, prior);
  const favour = [1, 1, MIDDLING_FAVOUR, 1];
  return {
    shares,
    prior: prior.map((plane, k) =>
      plane.map((p, i) => (k < 4 ? favour[k]! * (FLOOR + p) ** TRUST * (ORDER_FLOOR + ordered.prior[k]![i]!) : p)),
    ),
  };
});

/** Source: Bhattacharyya (1943), Bulletin of the Calcutta Mathematical Society 35, 99-109. */
const overlap = (p: Float32Array, q: Float32Array) => p.reduce((sum, v, c) => sum + Math.sqrt(v * q[c]!), 0);

/** What the model calls dense and middling goes to light: no boundary shows, and of most feeds the light is most (common practice). */
function allLight([, dense, middling, light]: readonly Float32Array[]) {
  for (let i = 0; i < light!.length; i++) {
    light![i]! += dense![i]! + middling![i]!;
    dense![i] = middling![i] = 0;
  }
}

/** With taps on at least this many classes, and this many in all, the taps alone say what each class looks like. */
const CLASSES_TAPPED = 3;
const TAPS = 6;

/** Whether taps say by themselves what each class looks like. */
export const tellLooks = (taps: readonly TapOnGrid[]) =>
  taps.length >= TAPS && new Set(taps.map((tap) => tap.class)).size >= CLASSES_TAPPED;

/** Looks taken from the taps themselves; `tellLooks` must hold. */
export function looksFromTaps(looks: Appearance, taps: readonly TapOnGrid[]): Appearance {
  const tapped = taps.map((tap) => aroundTap(looks, tap));
  const pooled = looks.features.map((_, f) => tapped.reduce((s, { variance }) => s + variance[f]!, 0) / tapped.length);
  return {
    ...looks,
    looks: tapped.map(({ mean }) => ({ mean, variance: pooled.map((v) => 2 * v + 2), weight: 1 / taps.length })),
  };
}

/** Each look is the tap it came from. */
function byTaps(taps: readonly TapOnGrid[]) {
  return CLASS_ORDER.map((name) => {
    const count = taps.filter((tap) => tap.class === name).length;
    return Float32Array.from(taps, (tap) => (tap.class === name ? 1 / count : 0));
  });
}

/** The look under a tap takes the tapped class. */
function obeyTaps(shares: Float32Array[], looks: Appearance, taps: readonly TapOnGrid[]) {
  for (const tap of taps) {
    const look = looks.nearest[tap.row * looks.grid.columns + tap.column]!;
    if (look < 0) continue;
    shares.forEach((row, k) => {
      if (CLASS_ORDER[k] === tap.class) row[look] = Math.max(row[look]!, 0.5);
      else row[look]! *= 0.1;
    });
  }
}

/** Mean and variance of each feature in the 20 mm around a tap. */
function aroundTap(looks: Appearance, { column, row }: TapOnGrid) {
  const { columns, rows } = looks.grid;
  const cells: number[] = [];
  for (let y = Math.max(0, row - 2); y <= Math.min(rows - 1, row + 2); y++) {
    for (let x = Math.max(0, column - 2); x <= Math.min(columns - 1, column + 2); x++) cells.push(y * columns + x);
  }
  const mean = looks.features.map((plane) => cells.reduce((s, i) => s + plane[i]!, 0) / cells.length);
  const variance = looks.features.map(
    (plane, f) => cells.reduce((s, i) => s + (plane[i]! - mean[f]!) ** 2, 0) / cells.length,
  );
  return { mean, variance };
}

/** Log preference of a colour for a material's stated look, at most 1. */
function likeProfile(lab: Triple, look: MaterialProfile["deckLook"]): number {
  if (look?.rgb) return 1 - deltaE2000(lab, srgbToLab(look.rgb)) / 12;
  const aim = look?.tone && { dark: 25, mid: 50, pale: 75 }[look.tone];
  return aim ? 1 - Math.abs(lab[0] - aim) / 20 : 0;
}
