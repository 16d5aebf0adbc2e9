import type { MarkedEdge } from "../vision/contract/index.ts";

/** A correction in the making: what a reviewer set and painted, each step to be undone and redone. */

export interface DryPatch {
  readonly outline: readonly (readonly [x: number, y: number])[];
}
/** What stands in numbers. Edges and splitters in outlet mm, patches in deck mm. */
export interface DeskMarks {
  readonly edges: readonly MarkedEdge[];
  readonly patches: readonly DryPatch[];
  readonly splittersMm: readonly number[];
}
export interface DeskGrid {
  readonly mmPerCell: number;
  readonly columns: number;
  readonly rows: number;
}
interface Step {
  readonly undo: () => void;
  readonly redo: () => void;
}

/** A number for "as it was read": the brush gives cells back what the reading says. */
export const AS_READ = -1;
/** Steps that can be undone. */
const MOST_STEPS = 300;

/**
 * @param read    Class of each cell as it was read, row by row; not changed.
 * @param onDeck  1 where a cell's middle lies on the deck: nothing is painted elsewhere.
 * @param first   What is shown first: the reading's own, or what was kept.
 */
export function deskDraft(
  grid: DeskGrid,
  read: Uint8Array,
  onDeck: Uint8Array,
  first: { readonly marks: DeskMarks; readonly cells: Uint8Array },
) {
  const cells = Uint8Array.from(first.cells);
  let marks = first.marks;
  const past: Step[] = [];
  const future: Step[] = [];
  /** What is being dragged: its many small moves are one step. */
  let held: { readonly key: string; readonly before: DeskMarks } | null = null;
  let stroke: { readonly before: Uint8Array; last: readonly [number, number] | null } | null = null;

  const add = (step: Step) => {
    past.push(step);
    if (past.length > MOST_STEPS) past.shift();
    future.length = 0;
  };
  /** @param key  Names what moves, while it moves; `settle` ends it. */
  function setMarks(next: DeskMarks, key: string | null = null): void {
    if (held && held.key !== key) settle();
    if (key) held ??= { key, before: marks };
    else keepStep(marks, next);
    marks = next;
  }
  function settle(): void {
    if (held && held.before !== marks) keepStep(held.before, marks);
    held = null;
  }
  function keepStep(before: DeskMarks, after: DeskMarks) {
    const put = (to: DeskMarks) => () => {
      marks = to;
    };
    add({ undo: put(before), redo: put(after) });
  }

  /** The brush goes from where it was last in this stroke to here, deck mm. @param paint  A class's number, or AS_READ. */
  function paintTo([x, y]: readonly [number, number], radiusMm: number, paint: number): void {
    stroke ??= { before: Uint8Array.from(cells), last: null };
    const [fromX, fromY] = stroke.last ?? [x, y];
    const dabs = Math.max(1, Math.ceil(Math.hypot(x - fromX, y - fromY) / Math.max(grid.mmPerCell, radiusMm / 2)));
    for (let i = 1; i <= dabs; i++)
      dab(fromX + ((x - fromX) * i) / dabs, fromY + ((y - fromY) * i) / dabs, radiusMm, paint);
    stroke.last = [x, y];
  }
  function dab(x: number, y: number, radiusMm: number, paint: number) {
    const { mmPerCell, columns, rows } = grid;
    const [left, right] = [x - radiusMm, x + radiusMm].map((mm) => Math.floor(mm / mmPerCell)) as [number, number];
    const [top, bottom] = [y - radiusMm, y + radiusMm].map((mm) => Math.floor(mm / mmPerCell)) as [number, number];
    for (let row = Math.max(0, top); row <= Math.min(rows - 1, bottom); row++) {
      for (let column = Math.max(0, left); column <= Math.min(columns - 1, right); column++) {
        const away = Math.hypot((column + 0.5) * mmPerCell - x, (row + 0.5) * mmPerCell - y);
        const at = row * columns + column;
        if (away <= radiusMm && onDeck[at]) cells[at] = paint === AS_READ ? read[at]! : paint;
      }
    }
  }
  function endStroke(): void {
    if (!stroke) return;
    const { before } = stroke;
    stroke = null;
    putCells(before, Uint8Array.from(cells));
  }
  /** What was painted elsewhere, such as another reviewer's correction. */
  function setAll(next: DeskMarks, nextCells: Uint8Array): void {
    settle();
    const [was, before] = [marks, Uint8Array.from(cells)];
    const put = (to: DeskMarks, all: Uint8Array) => () => {
      marks = to;
      cells.set(all);
    };
    put(next, nextCells)();
    add({ undo: put(was, before), redo: put(next, Uint8Array.from(nextCells)) });
  }
  /** A step of the cells that differ alone. */
  function putCells(before: Uint8Array, after: Uint8Array) {
    const at: number[] = [];
    for (let i = 0; i < before.length; i++) if (before[i] !== after[i]) at.push(i);
    if (at.length === 0) return;
    const [places, was, is] = [
      Uint32Array.from(at),
      Uint8Array.from(at, (i) => before[i]!),
      Uint8Array.from(at, (i) => after[i]!),
    ];
    const put = (values: Uint8Array) => () => {
      for (let n = 0; n < places.length; n++) cells[places[n]!] = values[n]!;
    };
    add({ undo: put(was), redo: put(is) });
  }
  const back = (from: Step[], to: Step[], way: keyof Step) => {
    settle();
    endStroke();
    const step = from.pop();
    step?.[way]();
    if (step) to.push(step);
    return step !== undefined;
  };
  return {
    grid,
    cells,
    marks: () => marks,
    setMarks,
    settle,
    paintTo,
    endStroke,
    setAll,
    undo: () => back(past, future, "undo"),
    redo: () => back(future, past, "redo"),
    can: () => ({ undo: past.length > 0 || held !== null, redo: future.length > 0 }),
    isPainted: () => cells.some((value, i) => value !== read[i]),
  };
}
export type DeskDraft = ReturnType<typeof deskDraft>;

/** 1 for cells whose middle lies inside a closed line, deck mm (even-odd rule). */
export function cellsInside({ mmPerCell, columns, rows }: DeskGrid, outline: DryPatch["outline"]): Uint8Array {
  const inside = new Uint8Array(columns * rows);
  for (let row = 0; row < rows; row++) {
    const y = (row + 0.5) * mmPerCell;
    const crossings = outline
      .flatMap(([x1, y1], i) => {
        const [x2, y2] = outline[(i + 1) % outline.length]!;
        return y1 > y !== y2 > y ? [x1 + ((y - y1) * (x2 - x1)) / (y2 - y1)] : [];
      })
      .sort((a, b) => a - b);
    for (let pair = 0; pair + 1 < crossings.length; pair += 2) {
      const first = Math.max(0, Math.ceil(crossings[pair]! / mmPerCell - 0.5));
      const last = Math.min(columns - 1, Math.ceil(crossings[pair + 1]! / mmPerCell - 0.5) - 1);
      if (last >= first) inside.fill(1, row * columns + first, row * columns + last + 1);
    }
  }
  return inside;
}
