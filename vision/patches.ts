import { sectionMeans } from "./bands.ts";
import { CLASS_NAMES, type DryPatch, type Rill } from "./contract/index.ts";
import { type Pair, pathLength } from "./geometry.ts";
import { connectedBlobs, type OpenCv, outlinesOf, withMats } from "./opencv.ts";
import type { Classes, Deck } from "./stages.ts";

const BARE = CLASS_NAMES.indexOf("bare");
const DRY = CLASS_NAMES.indexOf("dry");
const SMALLEST_DRY_MM2 = 600;
/** Holes and threads of dry deck narrower than this are smoothed away. */
const DRY_DETAIL_MM = 8;
const OUTLINE_TOLERANCE_MM = 3;
/** A gap in a row of solids up to this wide may belong to a rill, which may run aslant. */
const GAP_MM = 60;
/** Solids must hold half of this much of the row on each side of the gap. */
const BANK_MM = 12;
/** Gaps of a rill along its run, bridged by closing. */
const BRIDGE_MM = 16;
const RILL_WIDTH_MM: Pair = [4, 40];
const RILL_SLENDERNESS = 5;
const RILL_LENGTH_MM = 150;
/** On a deck too narrow for that, this share of its width. */
const RILL_SHARE = 0.3;
const SECTION_MM = 20;

/** Regions where the water film has broken, largest first. */
export function findDryPatches(cv: OpenCv, classes: Classes): DryPatch[] {
  const { grid, labels, confidence } = classes;
  const { columns, rows, mmPerCell } = grid;
  const dry = labels.map((label) => (label === DRY ? 1 : 0));
  const size = oddCells(DRY_DETAIL_MM, mmPerCell);
  const smooth = morph(cv, dry, columns, rows, [
    [cv.MORPH_CLOSE, size, size],
    [cv.MORPH_OPEN, size, size],
  ]);
  const found = connectedBlobs(cv, smooth, columns, rows);
  const kept = found.blobs.filter((blob) => blob.cells * mmPerCell ** 2 >= SMALLEST_DRY_MM2);
  return kept
    .sort((a, b) => b.cells - a.cells)
    .flatMap(({ label, cells }): DryPatch[] => {
      const mask = Uint8Array.from(found.labels, (l) => (l === label ? 1 : 0));
      const [outline] = outlinesOf(cv, mask, columns, rows, OUTLINE_TOLERANCE_MM / mmPerCell);
      if (!outline || outline.length < 3) return [];
      let [x, y, sure, judged] = [0, 0, 0, 0];
      mask.forEach((inPatch, i) => {
        if (!inPatch) return;
        x += i % columns;
        y += Math.floor(i / columns);
        if (labels[i] !== DRY) return;
        judged++;
        sure += confidence[i]!;
      });
      return [
        {
          areaMm2: cells * mmPerCell ** 2,
          centre: [(x / cells + 0.5) * mmPerCell, (y / cells + 0.5) * mmPerCell],
          outline: outline.map(([cx, cy]): [number, number] => [(cx + 0.5) * mmPerCell, (cy + 0.5) * mmPerCell]),
          confidence: judged ? sure / judged / 255 : 0,
        },
      ];
    });
}

/** Narrow threads of bare deck that run down the slope through the solids, longest first. */
export function findRills(cv: OpenCv, classes: Classes, deck: Deck): Rill[] {
  const { grid, labels, confidence } = classes;
  const { columns, rows, mmPerCell } = grid;
  const gaps = gapsInSolids(classes);
  const bridged = morph(cv, gaps, columns, rows, [[cv.MORPH_CLOSE, 1, oddCells(BRIDGE_MM, mmPerCell)]]);
  const found = connectedBlobs(cv, bridged, columns, rows);
  const shortest = Math.min(RILL_LENGTH_MM, RILL_SHARE * deck.widthMm);
  const rills = found.blobs.flatMap(({ label, left, top, width, height }) => {
    if (height * mmPerCell < shortest / 2 || width > height) return [];
    const cells: number[] = [];
    let [sure, judged] = [0, 0];
    for (let row = top; row < top + height; row++) {
      for (let column = left; column < left + width; column++) {
        const i = row * columns + column;
        if (found.labels[i] !== label) continue;
        cells.push(i);
        if (labels[i] !== BARE) continue;
        judged++;
        sure += confidence[i]!;
      }
    }
    const path = sectionMeans(cells, grid, 1, top * mmPerCell, SECTION_MM);
    // The end sections' means lie about half a section inside the rill's ends.
    const lengthMm = pathLength(path) + Math.min(SECTION_MM, height * mmPerCell);
    const widthMm = (cells.length * mmPerCell ** 2) / lengthMm;
    const slender = lengthMm >= shortest && lengthMm >= RILL_SLENDERNESS * widthMm;
    if (!slender || path.length < 2 || widthMm < RILL_WIDTH_MM[0] || widthMm > RILL_WIDTH_MM[1]) return [];
    const rill: Rill = {
      path: path.map(([x, y]): [number, number] => [x, y]),
      widthMm,
      confidence: judged ? sure / judged / 255 : 0,
    };
    return [{ rill, lengthMm }];
  });
  return rills.sort((a, b) => b.lengthMm - a.lengthMm).map(({ rill }) => rill);
}

/** 1 for bare cells in a gap of their row with solids on both its sides. */
function gapsInSolids({ grid, labels }: Classes): Uint8Array {
  const { columns, rows, mmPerCell } = grid;
  const gaps = new Uint8Array(labels.length);
  const bank = Math.max(1, Math.round(BANK_MM / mmPerCell));
  for (let row = 0; row < rows; row++) {
    const line = labels.subarray(row * columns, (row + 1) * columns);
    const solid = (from: number, to: number) => {
      let count = 0;
      for (let i = Math.max(0, from); i < Math.min(columns, to); i++) if (line[i]! > BARE && line[i] !== DRY) count++;
      return count >= bank / 2;
    };
    for (let from = 0; from < columns; from++) {
      if (line[from] !== BARE) continue;
      let to = from + 1;
      while (to < columns && line[to] === BARE) to++;
      if ((to - from) * mmPerCell <= GAP_MM && solid(from - bank, from) && solid(to, to + bank)) {
        gaps.fill(1, row * columns + from, row * columns + to);
      }
      from = to;
    }
  }
  return gaps;
}

const oddCells = (mm: number, mmPerCell: number) => 2 * Math.max(1, Math.round(mm / mmPerCell / 2)) + 1;

/** Close or open a 0/1 mask by rectangles: steps of [operation, width, height in cells]. */
function morph(
  cv: OpenCv,
  mask: Uint8Array,
  columns: number,
  rows: number,
  steps: readonly [number, number, number][],
) {
  return withMats(cv, (own) => {
    const image = own(new cv.Mat(rows, columns, cv.CV_8U));
    image.data.set(mask);
    for (const [operation, width, height] of steps) {
      const shape = own(cv.getStructuringElement(cv.MORPH_RECT, new cv.Size(width, height)));
      cv.morphologyEx(image, image, operation, shape);
    }
    return new Uint8Array(image.data);
  });
}
