import { multiply } from "../homography.ts";
import { type OpenCv, withMats } from "../opencv.ts";
import type { Deck, Photo, View } from "../stages.ts";

/** Standard deviation of the picture's blur on the deck, mm, as Gaussian; null where too little shows to tell by. */
export interface Blur {
  /** Along the riffles, that is along the shake. */
  readonly alongMm: number | null;
  readonly acrossMm: number | null;
}

/** The deck is laid flat with so much round it, that its rims are in: their edges are the surest. */
const MARGIN_MM = 60;
/** Cells of the flat picture, and the finer ones they are the mean of. */
const CELL_MM = 4;
const FINE_MM = 2;
/** The picture is made so soft, cells: on this scale noise and grain are gone, and bands are not. */
const SOFT_CELLS = 1.25;
/** What one step of the picture becomes on the flat one, mm: softened, averaged over cells, differenced over two of them. */
const SCALE_MM = Math.sqrt((SOFT_CELLS * CELL_MM) ** 2 + CELL_MM ** 2 / 12 + CELL_MM ** 2 / 3);
/** An edge is the steepest place so far to each side, and its step is the range of grey there, mm. */
const REACH_MM = 40;
/** Steps below this, grey, or below so many times the noise left, tell nothing. */
const LEAST_STEP = 4;
const NOISE_TIMES = 10;
/** Edges that run within about 40 degrees across a direction are its own. */
const LEAST_ACROSS = 0.75;
/** An even slope all through the reach rises so much of its step over two cells. */
const FLATTEST = CELL_MM / REACH_MM;
/** Near what is burnt out all edges look sharp: brighter than this, grey, is left out. */
const BURNT = 240;
/** The edges judged are this share, those with the largest steps; the sharper ones of them tell. Fewer than so many tell nothing. */
const LARGEST = 0.2;
const SHARPER = 0.75;
const FEWEST = 12;

/**
 * How blurred the deck is, by how steep its edges are for the step in grey they make. A step `A` blurred by a Gaussian has the slope
 * `A / (√(2π)·s)` in its middle; steps are those within 40 mm, so that a smear as long as that makes all of them flat. Riffles, rims and the deck's
 * ends are sharp in a sharp photo, whatever lies on it. A smear aslant blurs both along and across.
 *
 * Source: the slope is the normal distribution's (Zhuo & Sim (2011), Pattern Recognition 44, 1852-1858, equation 2, from memory); edges
 * by directions are our own, limits measured (DEVELOPERS.md).
 */
export function blurOf(cv: OpenCv, small: Photo & { readonly scale: number }, deck: Deck, view: View): Blur {
  const flat = laidFlat(cv, small, deck, view);
  return { alongMm: blurAlong(flat, 1, 0), acrossMm: blurAlong(flat, 0, 1) };
}

interface Flat {
  readonly columns: number;
  readonly rows: number;
  /** Grey, softened. */
  readonly grey: Float32Array;
  /** Steps below this are not trusted. */
  readonly leastStep: number;
}

function laidFlat(cv: OpenCv, small: Photo & { readonly scale: number }, deck: Deck, view: View): Flat {
  const fine = [deck.lengthMm, deck.widthMm].map((mm) => 2 * Math.ceil((mm + 2 * MARGIN_MM) / CELL_MM)) as [
    number,
    number,
  ];
  const [columns, rows] = [fine[0] / 2, fine[1] / 2];
  // the lens term is left out: it moves places, not slopes
  const fromSmall = [small.scale, 0, 0, 0, small.scale, 0, 0, 0, 1];
  const toFine = [1 / FINE_MM, 0, MARGIN_MM / FINE_MM, 0, 1 / FINE_MM, MARGIN_MM / FINE_MM, 0, 0, 1];
  return withMats(cv, (own) => {
    const colour = own(new cv.Mat(small.height, small.width, cv.CV_8UC4));
    colour.data.set(small.rgba);
    const [grey, flat, grey32, cells, soft] = Array.from({ length: 5 }, () => own(new cv.Mat())) as Mats;
    cv.cvtColor(colour, grey, cv.COLOR_RGBA2GRAY);
    const matrix = own(cv.matFromArray(3, 3, cv.CV_64F, multiply(toFine, multiply(view.photoToDeck, fromSmall))));
    cv.warpPerspective(grey, flat, matrix, new cv.Size(...fine), cv.INTER_LINEAR, cv.BORDER_REPLICATE);
    flat.convertTo(grey32, cv.CV_32F);
    cv.resize(grey32, cells, new cv.Size(columns, rows), 0, 0, cv.INTER_AREA);
    cv.GaussianBlur(cells, soft, new cv.Size(0, 0), SOFT_CELLS, SOFT_CELLS, cv.BORDER_REPLICATE);
    const leastStep = Math.max(LEAST_STEP, NOISE_TIMES * noiseLeft(cells.data32F));
    return { columns, rows, grey: new Float32Array(soft.data32F), leastStep };
  });
}
type Mat = InstanceType<OpenCv["Mat"]>;
type Mats = [Mat, Mat, Mat, Mat, Mat];

/**
 * Standard deviation of the noise after softening, grey: the middle second difference of neighbours, as of a normal distribution.
 * Softening white noise by a Gaussian of `s` cells leaves `1 / (2·√π·s)` of it.
 */
function noiseLeft(cells: Float32Array): number {
  const differences = new Float32Array(Math.floor((cells.length - 2) / 7));
  for (let n = 0; n < differences.length; n++) {
    const i = 7 * n + 1;
    differences[n] = Math.abs(cells[i - 1]! - 2 * cells[i]! + cells[i + 1]!);
  }
  return differences.sort()[differences.length >> 1]! / 0.6745 / Math.sqrt(6) / (2 * Math.sqrt(Math.PI) * SOFT_CELLS);
}

/** Blur along one direction of the flat picture, mm: along its rows (1, 0) or its columns (0, 1). */
function blurAlong({ columns, rows, grey, leastStep }: Flat, dx: number, dy: number): number | null {
  const reach = REACH_MM / CELL_MM;
  const [step, first, last] = [dy * columns + dx, columns + 1, grey.length - columns - 1];
  // twice the slope along the direction, grey for one cell
  const slopes = new Float32Array(grey.length);
  const across = new Uint8Array(grey.length);
  const least = FLATTEST * leastStep;
  for (let i = first; i < last; i++) {
    const [gx, gy] = [grey[i + 1]! - grey[i - 1]!, grey[i + columns]! - grey[i - columns]!];
    const slope = Math.abs(gx * dx + gy * dy);
    slopes[i] = slope;
    across[i] = slope > least && slope * slope > LEAST_ACROSS ** 2 * (gx * gx + gy * gy) ? 1 : 0;
  }
  const edges: { steep: number; step: number }[] = [];
  const [top, left] = [dy === 0 ? 1 : reach, dx === 0 ? 1 : reach];
  for (let row = top; row < rows - top; row++) {
    for (let i = row * columns + left; i < (row + 1) * columns - left; i++) {
      const slope = slopes[i]!;
      if (!across[i] || slopes[i - step]! >= slope || slopes[i + step]! > slope) continue;
      let [low, high] = [grey[i]!, grey[i]!];
      let k = -reach;
      for (; k <= reach; k++) {
        const j = i + k * step;
        if (slopes[j]! > slope) break;
        if (grey[j]! < low) low = grey[j]!;
        if (grey[j]! > high) high = grey[j]!;
      }
      if (k > reach && high - low >= leastStep && high < BURNT)
        edges.push({ steep: slope / (high - low), step: high - low });
    }
  }
  const judged = edges.sort((a, b) => b.step - a.step).slice(0, Math.max(FEWEST, LARGEST * edges.length));
  if (judged.length < FEWEST) return null;
  const { steep } = judged.sort((a, b) => a.steep - b.steep)[Math.floor(SHARPER * judged.length)]!;
  return Math.sqrt(Math.max(0, (2 * CELL_MM) ** 2 / (2 * Math.PI * steep * steep) - SCALE_MM ** 2));
}
