import { NotesError } from "../errors.ts";
import { asMm, said } from "../said.ts";
import { MARK_CELLS, markCells } from "./markers.ts";

/** A4, mm; every length on the sheet is a real one. */
const PAGE = { width: 210, height: 297, margin: 12 };
const RULER_MM = 150;
/** Larger marks do not fit the page with their white margin. */
export const LARGEST_MARK_MM = 140;
export const SMALLEST_MARK_MM = 30;

export interface SheetMark {
  readonly id: number;
  readonly sizeMm: number;
}

const SAY = {
  print:
    "Print at 100 % (no “fit to page”). Lay a steel rule on the ruler below: 150 mm must be 150 mm, to half a millimetre.",
  paper:
    "Use matt paper and a matt waterproof cover: gloss mirrors the lamps. Keep the white margin; cut along the thin corners.",
  place:
    "Fix each mark flat on the deck's frame where it moves with the deck, level with the deck's surface to 3 mm, out of water and spray. Two are enough; four, one near each corner, are better.",
  measure:
    "Measure each mark's middle from the high drive-end corner of the deck: x along the riffles, y down the slope. Write it into the deck file under “marks”, with the black square's size.",
  safety: "Stop and lock out the drive before reaching near it; guards stay on.",
};

/**
 * A page to print, one or more A4 sheets of marks in real millimetres: an HTML document that stands alone.
 *
 * @throws {NotesError} for a number outside the dictionary or a size that does not fit the page.
 */
export function markerSheet(marks: readonly SheetMark[]): string {
  for (const { id, sizeMm } of marks) {
    if (sizeMm < SMALLEST_MARK_MM || sizeMm > LARGEST_MARK_MM) {
      throw new NotesError(
        "deck-file",
        said("said.refused.markSize", {
          id,
          size: asMm(sizeMm),
          least: asMm(SMALLEST_MARK_MM),
          most: asMm(LARGEST_MARK_MM),
        }),
      );
    }
  }
  const pages = layOut(marks).map(
    (placed, i, all) => `<section>${pageSvg(placed, `sheet ${i + 1} of ${all.length}`)}</section>`,
  );
  return `<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<title>deckbands marks</title>
<style>
@page { size: ${PAGE.width}mm ${PAGE.height}mm; margin: 0 }
body { margin: 0 }
section { break-after: page; height: ${PAGE.height}mm; overflow: hidden }
section:last-child { break-after: auto }
svg { display: block; width: ${PAGE.width}mm; height: ${PAGE.height}mm }
</style>
</head>
<body>
${pages.join("\n")}
</body>
</html>
`;
}

/** One mark alone as SVG in mm: the black square `sizeMm` wide, one cell of white round it. */
export function markSvg(id: number, sizeMm: number): string {
  const whole = sizeMm * (1 + 2 / MARK_CELLS);
  return `<svg xmlns="http://www.w3.org/2000/svg" width="${mm(whole)}mm" height="${mm(whole)}mm" viewBox="0 0 ${mm(whole)} ${mm(whole)}"><path fill="#fff" d="M0 0h${mm(whole)}v${mm(whole)}h${mm(-whole)}z"/>${square(id, sizeMm, sizeMm / MARK_CELLS, sizeMm / MARK_CELLS)}</svg>`;
}

interface Placed extends SheetMark {
  readonly left: number;
  readonly top: number;
}
const TOP = 62;
const BOTTOM = 30;
const GAP = 8;
/** Room under a mark for its words. */
const WORDS = 9;

/** Rows of marks, a new page when one is full. */
function layOut(marks: readonly SheetMark[]): Placed[][] {
  const pages: Placed[][] = [[]];
  let [left, top, rowHeight] = [PAGE.margin, TOP, 0];
  for (const mark of marks) {
    const whole = mark.sizeMm * (1 + 2 / MARK_CELLS);
    if (left > PAGE.margin && left + whole > PAGE.width - PAGE.margin) {
      [left, top, rowHeight] = [PAGE.margin, top + rowHeight + GAP, 0];
    }
    if (top > TOP && top + whole + WORDS > PAGE.height - BOTTOM) {
      pages.push([]);
      [left, top, rowHeight] = [PAGE.margin, TOP, 0];
    }
    pages.at(-1)!.push({ ...mark, left, top });
    left += whole + GAP;
    rowHeight = Math.max(rowHeight, whole + WORDS);
  }
  return pages;
}

function pageSvg(placed: readonly Placed[], which: string): string {
  return `<svg xmlns="http://www.w3.org/2000/svg" width="${PAGE.width}mm" height="${PAGE.height}mm" viewBox="0 0 ${PAGE.width} ${PAGE.height}" font-family="sans-serif" font-size="3.6">
${words(PAGE.margin, 14, [`Marks for the deck, ${which}`], 5)}
${words(
  PAGE.margin,
  21,
  Object.values(SAY).flatMap((line) => wrap(line, 100)),
)}
${placed.map(markWithWords).join("\n")}
${ruler(PAGE.margin, PAGE.height - 22)}
</svg>`;
}

function markWithWords({ id, sizeMm, left, top }: Placed): string {
  const cell = sizeMm / MARK_CELLS;
  const whole = sizeMm + 2 * cell;
  const corners = [
    [left, top, 1, 1],
    [left + whole, top, -1, 1],
    [left + whole, top + whole, -1, -1],
    [left, top + whole, 1, -1],
  ]
    .map(([x, y, dx, dy]) => `M${mm(x! + 3 * dx!)} ${mm(y!)}H${mm(x!)}V${mm(y! + 3 * dy!)}`)
    .join("");
  return `<g>${square(id, sizeMm, left + cell, top + cell)}<path d="${corners}" fill="none" stroke="#999" stroke-width="0.1"/>
${words(left, top + whole + 4, [`mark ${id}, black square ${sizeMm} mm; ↑ wash-water side`])}</g>`;
}

/** The black square with its white cells cut out, so that no hairline shows between cells. */
function square(id: number, sizeMm: number, left: number, top: number): string {
  const cell = sizeMm / MARK_CELLS;
  const holes = markCells(id)
    .map((white, i) =>
      white
        ? `M${mm(left + (i % MARK_CELLS) * cell)} ${mm(top + Math.floor(i / MARK_CELLS) * cell)}v${mm(cell)}h${mm(cell)}v${mm(-cell)}z`
        : "",
    )
    .join("");
  return `<path fill="#000" fill-rule="nonzero" d="M${mm(left)} ${mm(top)}h${mm(sizeMm)}v${mm(sizeMm)}h${mm(-sizeMm)}z${holes}"/>`;
}

function ruler(left: number, top: number): string {
  const ticks = Array.from({ length: RULER_MM + 1 }, (_, i) => {
    const height = i % 10 === 0 ? 6 : i % 5 === 0 ? 4.5 : 3;
    return `M${left + i} ${top}v${height}`;
  }).join("");
  const numbers = Array.from(
    { length: RULER_MM / 10 + 1 },
    (_, i) => `<text x="${left + 10 * i}" y="${top + 9.5}" text-anchor="middle" font-size="2.8">${10 * i}</text>`,
  ).join("");
  return `<g><path d="M${left} ${top}h${RULER_MM}${ticks}" fill="none" stroke="#000" stroke-width="0.15"/>${numbers}<text x="${left + RULER_MM + 4}" y="${top + 9.5}" font-size="2.8">mm</text></g>`;
}

const words = (x: number, y: number, texts: readonly string[], size = 3.6) =>
  texts
    .map((text, i) => `<text x="${mm(x)}" y="${mm(y + i * 1.35 * size)}" font-size="${size}">${text}</text>`)
    .join("");

function wrap(text: string, most: number): string[] {
  const rows: string[] = [];
  let row = "";
  for (const word of text.split(" ")) {
    if (row.length + word.length + 1 > most) {
      rows.push(row);
      row = word;
    } else row = row ? `${row} ${word}` : word;
  }
  return [...rows, row];
}

const mm = (value: number) => String(Math.round(value * 1000) / 1000);
