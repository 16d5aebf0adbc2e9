import { type Appearance, LIGHTNESS_WEIGHT, labOf, textureOf } from "./appearance.ts";
import type { Naming } from "./naming.ts";
import { type Blob, connectedBlobs, type OpenCv } from "./opencv.ts";
import { boxMean } from "./texture.ts";

/** A dry film shows paler than the wet deck, by at least this L* (wet surfaces darken: Lekner & Dorf (1988), Applied Optics 27, 1278-1280). */
const PALER = 5;
/** A cell is out of place when what is expected there explains its look less than this, of at most 1. */
const OUT_OF_PLACE = 0.2;
/** A dry patch's texture is at most this share of the deck's mean: no ripples, no glitter (from the tuning pictures). */
const MATTE = 0.75;
/** Least and largest patch: mm², share of the deck. */
const LEAST_MM2 = 1500;
const LARGEST_SHARE = 0.08;
/** Cells around a patch in which its own look must be rare. */
const RING = 6;

/**
 * Where the water film has broken: compact, matte patches, paler than the wet deck, of a look that nothing expected at
 * that place explains. Glare is pale too, but glitters; a band is no patch.
 *
 * @returns 1 on dry cells, else 0; `rows × columns` of the looks' grid.
 */
export function dryFilm(cv: OpenCv, looks: Appearance, naming: Naming, fit: readonly Float32Array[]): Float32Array {
  const { grid, seen, features } = looks;
  const { columns, rows, mmPerCell } = grid;
  const cells = columns * rows;
  const bare = naming.shares[0]!;
  const bareL = looks.looks.reduce((sum, { mean }, k) => sum + bare[k]! * labOf(mean)[0], 0);
  const paleFrom = (bareL + PALER) * LIGHTNESS_WEIGHT;
  const odd = new Float32Array(cells);
  const matte = mean(textureOf(features), seen);
  for (let i = 0; i < cells; i++) {
    if (!seen[i] || features[0]![i]! < paleFrom) continue;
    let [expected, all] = [0, 1e-9];
    for (let k = 0; k < 4; k++) {
      let like = 0;
      for (let c = 0; c < fit.length; c++) like += naming.shares[k]![c]! * fit[c]![i]!;
      expected += like * naming.prior[k]![i]!;
      all += naming.prior[k]![i]!;
    }
    expected /= all;
    odd[i] = expected < OUT_OF_PLACE ? 1 : 0;
  }
  const share = boxMean(odd, columns, rows, Math.round(12 / mmPerCell), seen);
  const mask = Uint8Array.from(share, (s, i) => (seen[i] && s > 0.5 ? 1 : 0));
  const { labels, blobs } = connectedBlobs(cv, mask, columns, rows);
  const texture = textureOf(features);
  const film = new Float32Array(cells);
  const textures = new Float64Array(Math.max(0, ...blobs.map(({ label }) => label)) + 1);
  labels.forEach((label, i) => {
    textures[label]! += texture[i]!;
  });
  for (const blob of blobs) {
    const area = blob.cells * mmPerCell ** 2;
    const [long, short] = [Math.max(blob.width, blob.height), Math.min(blob.width, blob.height)];
    if (area < LEAST_MM2 || blob.cells > LARGEST_SHARE * cells) continue;
    if (long > 4 * short || blob.cells < 0.35 * blob.width * blob.height) continue;
    const within = textures[blob.label]! / blob.cells;
    if (within > MATTE * matte || runsOn(looks, labels, blob)) continue;
    labels.forEach((label, i) => {
      if (label === blob.label) film[i] = 1;
    });
  }
  return film;
}

/** Does the patch's look go on around it? Then it is the end of a band, not a patch. */
function runsOn({ grid: { columns, rows }, nearest, looks }: Appearance, labels: Int32Array, blob: Blob): boolean {
  const [within, around] = [looks.map(() => 0), looks.map(() => 0)];
  let ring = 0;
  for (let y = Math.max(0, blob.top - RING); y < Math.min(rows, blob.top + blob.height + RING); y++) {
    for (let x = Math.max(0, blob.left - RING); x < Math.min(columns, blob.left + blob.width + RING); x++) {
      const look = nearest[y * columns + x]!;
      if (look < 0) continue;
      if (labels[y * columns + x] === blob.label) within[look]!++;
      else [around[look], ring] = [around[look]! + 1, ring + 1];
    }
  }
  const main = within.indexOf(Math.max(...within));
  return around[main]! > 0.2 * ring;
}

function mean(plane: Float32Array, mask: Uint8Array): number {
  let [sum, n] = [0, 0];
  for (let i = 0; i < plane.length; i++) if (mask[i]) [sum, n] = [sum + plane[i]!, n + 1];
  return n ? sum / n : 0;
}
