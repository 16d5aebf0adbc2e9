import { CLASS_NAMES, type CocoFile } from "../contract/index.ts";
import { VisionError } from "../errors.ts";
import type { Marked } from "./agreement.ts";

/** A file of masks that is not what it says. Exporting it again mends it. */
export class MarksError extends VisionError<"marks-file"> {}

/** What goes out beside the masks. */
export interface CocoNotes {
  readonly name: string;
  readonly description: string;
  readonly who: string;
  readonly madeAt: string;
  readonly licence: string;
}

/**
 * Classes as COCO: one annotation a class that is there, its run lengths down the columns. Pixels are cells of the deck
 * laid flat, row 0 at y = 0; what is unseen has no annotation.
 */
export function toCoco({ grid, labels }: Marked, { name, description, who, madeAt, licence }: CocoNotes): CocoFile {
  const { columns: width, rows: height, mmPerCell } = grid;
  const annotations: CocoFile["annotations"] = [];
  for (let k = 1; k < CLASS_NAMES.length; k++) {
    const counts: number[] = [];
    let [run, on, area] = [0, false, 0];
    let [left, top, right, bottom] = [width, height, -1, -1];
    for (let column = 0; column < width; column++) {
      for (let row = 0; row < height; row++) {
        const here = labels[row * width + column] === k;
        if (here !== on) {
          counts.push(run);
          [run, on] = [0, here];
        }
        run++;
        if (!here) continue;
        area++;
        [left, right] = [Math.min(left, column), Math.max(right, column)];
        [top, bottom] = [Math.min(top, row), Math.max(bottom, row)];
      }
    }
    counts.push(run);
    if (area === 0) continue;
    const segmentation = { size: [height, width] as [number, number], counts };
    const bbox = [left, top, right - left + 1, bottom - top + 1];
    annotations.push({ id: k, image_id: 1, category_id: k, segmentation, area, bbox, iscrowd: 1 });
  }
  return {
    info: { description, contributor: who, date_created: madeAt },
    licenses: [{ id: 1, name: licence }],
    images: [{ id: 1, width, height, file_name: name, mm_per_pixel: mmPerCell }],
    categories: CLASS_NAMES.slice(1).map((kind, k) => ({ id: k + 1, name: kind })),
    annotations,
  };
}

/**
 * Masks of the first image → classes. Categories are known by name (bare, dense, middling, light, dry); others are left
 * out. Where masks overlap, the later one counts.
 *
 * @param mmPerCell  For files that do not say it.
 * @throws {MarksError} when run lengths do not fill the image.
 */
export function fromCoco(file: CocoFile, mmPerCell: number): Marked {
  const { id, width: columns, height: rows, mm_per_pixel = mmPerCell } = file.images[0]!;
  const labels = new Uint8Array(columns * rows);
  const classOf = new Map(
    file.categories.map((category) => [
      category.id,
      CLASS_NAMES.indexOf(category.name.trim().toLowerCase() as (typeof CLASS_NAMES)[number]),
    ]),
  );
  for (const { image_id, category_id, segmentation } of file.annotations) {
    const k = classOf.get(category_id) ?? -1;
    if (image_id !== id || k < 1) continue;
    if (Array.isArray(segmentation)) fillPolygons(labels, columns, rows, segmentation, k);
    else {
      const [height, width] = segmentation.size;
      const counts = typeof segmentation.counts === "string" ? unpacked(segmentation.counts) : segmentation.counts;
      const all = counts.reduce((sum, run) => sum + run, 0);
      if (height !== rows || width !== columns || all !== rows * columns)
        throw new MarksError(
          "marks-file",
          "A mask does not fill its image. Export it again with the tool that made it.",
        );
      fillRuns(labels, columns, rows, counts, k);
    }
  }
  return { grid: { mmPerCell: mm_per_pixel, columns, rows }, labels };
}

function fillRuns(labels: Uint8Array, columns: number, rows: number, counts: readonly number[], k: number): void {
  let at = 0;
  counts.forEach((run, n) => {
    if (n % 2 === 1) for (let i = at; i < at + run; i++) labels[(i % rows) * columns + Math.floor(i / rows)] = k;
    at += run;
  });
}

/** Cells whose middle lies within an odd number of the rings. */
function fillPolygons(labels: Uint8Array, columns: number, rows: number, rings: readonly number[][], k: number): void {
  const crossings: number[][] = Array.from({ length: rows }, () => []);
  for (const ring of rings) {
    const points = Math.floor(ring.length / 2);
    for (let n = 0; n < points; n++) {
      const [x1, y1] = [ring[2 * n]!, ring[2 * n + 1]!];
      const m = (n + 1) % points;
      const [x2, y2] = [ring[2 * m]!, ring[2 * m + 1]!];
      if (y1 === y2) continue;
      const [top, bottom] = [Math.max(0, Math.min(y1, y2)), Math.min(rows, Math.max(y1, y2))];
      for (let row = Math.ceil(top - 0.5); row + 0.5 < bottom && row < rows; row++) {
        crossings[row]!.push(x1 + ((row + 0.5 - y1) / (y2 - y1)) * (x2 - x1));
      }
    }
  }
  crossings.forEach((xs, row) => {
    xs.sort((a, b) => a - b);
    for (let n = 0; n + 1 < xs.length; n += 2) {
      const [first, last] = [Math.max(0, Math.ceil(xs[n]! - 0.5)), Math.min(columns, Math.ceil(xs[n + 1]! - 0.5))];
      if (first < last) labels.fill(k, row * columns + first, row * columns + last);
    }
  });
}

/**
 * Run lengths as the COCO tools pack them: five bits a character from 48 on, the sixth says that more follow, the last one's
 * fifth is the sign; from the fourth length on each is told by what it differs from the one two before.
 */
function unpacked(text: string): number[] {
  const counts: number[] = [];
  for (let at = 0; at < text.length; ) {
    let [value, bits, more] = [0, 0, true];
    while (more) {
      const six = text.charCodeAt(at++) - 48;
      if (!(six >= 0 && six < 64) || bits > 25)
        throw new MarksError("marks-file", "A mask's run lengths are no COCO text. Export it again as polygons.");
      value |= (six & 31) << bits;
      bits += 5;
      more = (six & 32) !== 0;
      if (!more && six & 16) value |= -1 << bits;
    }
    const length = counts.length > 2 ? value + counts.at(-2)! : value;
    if (length < 0) throw new MarksError("marks-file", "A mask has a run of less than nothing. Export it again.");
    counts.push(length);
  }
  return counts;
}
