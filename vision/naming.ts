import { type Appearance, labOf } from "./appearance.ts";
import { deltaE2000, srgbToLab, type Triple } from "./colour.ts";
import type { MaterialProfile } from "./contract/index.ts";
import type { FlowPrior } from "./flow-prior.ts";
import { connectedBlobs, type OpenCv } from "./opencv.ts";
import { CLASS_ORDER, type TapOnGrid } from "./segment.ts";

/** bare, dense, middling, light; dry is named afterwards, by shape. */
const NAMED = 4;
/** Dry film shows paler than the wet deck around it, by at least this L* (wet surfaces darken: Lekner & Dorf (1988), Applied Optics 27, 1278-1280). */
const DRY_PALER = 5;

/**
 * Name each look: how much of each class looks like it. Row k of the answer is a class in CLASS_ORDER, its entries
 * sum to 1 over the looks.
 *
 * All namings of the looks are scored by where the looks lie (flow-prior.ts), the order in which they leave the deck,
 * whether alike looks share a name, profile and taps; the best one is taken. Dense is not assumed dark: without a profile
 * a darker dense class counts only a little.
 */
export function nameAppearances(
  cv: OpenCv,
  looks: Appearance,
  prior: FlowPrior,
  taps: readonly TapOnGrid[],
  profile?: MaterialProfile,
): Float32Array[] {
  const colours = looks.looks.map(({ mean }) => labOf(mean));
  const count = colours.length;
  const places = placesOf(looks, prior);
  const single = colours.map((lab, k) => {
    const score = scoreByPlace(places[k]!, taps.length > 0 ? 0.3 : 1);
    addTaps(score, looks, looks.looks[k]!.mean, taps);
    addProfile(score, lab, profile);
    return score.map((s) => s * Math.sqrt(looks.looks[k]!.weight));
  });
  const toneKnown = Boolean(profile?.dense?.look || profile?.light?.look || taps.length);
  const naming = bestNaming(single, (names) => agreement(names, colours, looks, places, toneKnown));
  const rows = Array.from({ length: CLASS_ORDER.length }, () => new Float32Array(count));
  naming.forEach((name, k) => {
    rows[name]![k] = looks.looks[k]!.weight;
  });
  nameDry(cv, looks, naming, colours, rows, taps);
  for (const row of rows) {
    const sum = row.reduce((a, b) => a + b, 0);
    if (sum > 0) for (let k = 0; k < count; k++) row[k]! /= sum;
  }
  return rows;
}

interface Place {
  readonly logPrior: number[];
  readonly bareLift: number;
  readonly outletShare: number;
}

function placesOf({ looks, nearest }: Appearance, { logPrior, outletShare, bareSpots }: FlowPrior): Place[] {
  const cells = nearest.length;
  const sums = looks.map(() => ({ n: 0, share: 0, bare: 0, log: [0, 0, 0, 0] }));
  let [spots, all] = [0, 0];
  for (let i = 0; i < cells; i++) {
    const sum = sums[nearest[i]!];
    if (!sum) continue;
    sum.n++;
    all++;
    sum.share += outletShare[i]!;
    if (bareSpots[i]) [sum.bare, spots] = [sum.bare + 1, spots + 1];
    for (let k = 0; k < NAMED; k++) sum.log[k]! += logPrior[k * cells + i]!;
  }
  return sums.map(({ n, share, bare, log }) => ({
    logPrior: log.map((s) => s / Math.max(1, n)),
    bareLift: Math.log((bare / Math.max(1, spots) + 0.01) / (n / Math.max(1, all) + 0.01)),
    outletShare: share / Math.max(1, n),
  }));
}

function scoreByPlace({ logPrior, bareLift }: Place, weight: number): number[] {
  return logPrior.map((p, k) => weight * (p + (k === 0 ? 1.1 * Math.max(-2.5, Math.min(1.8, bareLift)) : 0)));
}

/** A look that resembles what was tapped takes that name. */
function addTaps(score: number[], looks: Appearance, mean: readonly number[], taps: readonly TapOnGrid[]) {
  if (!taps.length) return;
  for (let k = 0; k < NAMED; k++) {
    const distances = taps
      .filter((tap) => tap.class === CLASS_ORDER[k])
      .map(({ column, row }) => {
        const i = row * looks.grid.columns + column;
        return mean.reduce((s, m, f) => s + (looks.features[f]![i]! - m) ** 2, 0);
      });
    score[k]! -= distances.length ? Math.min(40, Math.min(...distances) / 40) : 8;
  }
}

function addProfile(score: number[], lab: Triple, profile?: MaterialProfile) {
  const looks = [profile?.deckLook, profile?.dense?.look, profile?.middling?.look, profile?.light?.look];
  looks.forEach((look, k) => {
    if (look?.rgb) score[k]! += 2 - deltaE2000(lab, srgbToLab(look.rgb)) / 8;
    const aim = look?.tone && { dark: 25, mid: 50, pale: 75 }[look.tone];
    if (aim) score[k]! += 1 - Math.abs(lab[0] - aim) / 20;
  });
}

/** How well a naming hangs together, beyond each look's own place. */
function agreement(
  names: readonly number[],
  colours: readonly Triple[],
  looks: Appearance,
  places: readonly Place[],
  toneKnown: boolean,
) {
  let score = 0;
  const n = [0, 0, 0, 0];
  const share = [0, 0, 0, 0];
  const lab = [0, 1, 2, 3].map(() => [0, 0, 0]);
  names.forEach((name, k) => {
    const w = looks.looks[k]!.weight;
    n[name]! += w;
    share[name]! += w * places[k]!.outletShare;
    for (let f = 0; f < 3; f++) lab[name]![f]! += w * colours[k]![f]!;
  });
  for (let k = 0; k < NAMED; k++) if (n[k]) [share[k], lab[k]] = [share[k]! / n[k]!, lab[k]!.map((v) => v / n[k]!)];
  score -= (n[0]! > 0.03 ? 0 : 1.5) + (n[1]! > 0.004 ? 0 : 1) + (n[2]! > 0 ? 0 : 0.35) + (n[3]! > 0.02 ? 0 : 1);
  for (const [upper, lower] of [
    [1, 2],
    [2, 3],
    [1, 3],
  ] as const) {
    if (n[upper] && n[lower]) score -= 6 * Math.max(0, share[upper]! - share[lower]! + 0.04);
  }
  if (!toneKnown && n[1] && n[3]) score += 0.25 * Math.tanh((lab[3]![0]! - lab[1]![0]!) / 15);
  return score;
}

/** The best of all namings: each look's own score, alike looks together, and the whole's agreement. */
function bestNaming(single: readonly number[][], whole: (names: number[]) => number): number[] {
  const count = single.length;
  const names = new Array<number>(count).fill(0);
  let best = names.slice();
  let bestScore = Number.NEGATIVE_INFINITY;
  const total = NAMED ** count;
  for (let code = 0; code < total; code++) {
    let rest = code;
    let score = 0;
    for (let k = 0; k < count; k++) {
      names[k] = rest % NAMED;
      rest = Math.floor(rest / NAMED);
      score += single[k]![names[k]!]!;
    }
    if (score + 1 < bestScore) continue; // `whole` adds less than 1
    score += whole(names);
    if (score > bestScore) [best, bestScore] = [names.slice(), score];
  }
  return best;
}

/** A look that keeps to few compact patches, paler than the wet deck, is dry deck; so is what was tapped dry. */
function nameDry(
  cv: OpenCv,
  looks: Appearance,
  naming: readonly number[],
  colours: readonly Triple[],
  rows: Float32Array[],
  taps: readonly TapOnGrid[],
) {
  const { columns, rows: gridRows, mmPerCell } = looks.grid;
  const bare = naming.flatMap((name, k) => (name === 0 ? [k] : []));
  const main = bare.reduce((a, b) => (looks.looks[b]!.weight > (looks.looks[a]?.weight ?? 0) ? b : a), bare[0] ?? -1);
  colours.forEach((lab, k) => {
    const tapped = taps.some((tap) => tap.class === "dry" && looks.nearest[tap.row * columns + tap.column] === k);
    if (!tapped) {
      if (main < 0 || k === main || naming[k] === 1 || lab[0] < colours[main]![0] + DRY_PALER) return;
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
    for (const row of rows) row[k] = 0;
    rows[4]![k] = looks.looks[k]!.weight;
  });
}
