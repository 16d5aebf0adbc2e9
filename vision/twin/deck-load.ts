import { above0 } from "../process/range.ts";
import { CLASSES, type Class } from "./outlet-curves.ts";
import { addBell, type GrainFlow, strayMm, type TwinDeck, type TwinParameters } from "./transport.ts";

/** What lies where on a deck: solids of each class that pass a cell on their way along, kg/h for each mm across. */
export interface DeckLoad {
  readonly mmPerCell: number;
  readonly columns: number;
  readonly rows: number;
  /** Column by column: cell (column, row) stands at `column · rows + row`. */
  readonly loads: Readonly<Record<Class, Float64Array>>;
}

/**
 * The bands over the whole deck, as the twin has them leave it: grains on their straight ways, with the same spread about
 * them as `predictOutlet` gives at the outlet. What lies beyond the low side has left, and so
 * has, more and more along the way, what the stream stirs up.
 *
 * @throws {ProcessError} `out-of-range` for a cell not above 0.
 */
export function loadOn(
  { lengthMm, widthMm }: TwinDeck,
  flows: Readonly<Record<Class, GrainFlow>>,
  parameters: TwinParameters,
  mmPerCell: number,
): DeckLoad {
  const columns = Math.ceil(lengthMm / above0("Cell, mm", mmPerCell));
  const rows = Math.ceil(widthMm / mmPerCell);
  const loads = { dense: new Float64Array(0), middling: new Float64Array(0), light: new Float64Array(0) };
  const beyond = 2 * rows; // grains that have left still push none back onto the deck
  for (const name of CLASSES) {
    const flow = flows[name];
    loads[name] = new Float64Array(columns * rows);
    const each = flow.kgPerHour / flow.paths.length / mmPerCell;
    const column = new Float64Array(beyond);
    for (let x = 0; x < columns; x++) {
      column.fill(0);
      for (const { startMm, fallPerMm, stirred } of flow.paths) {
        const along = (x + 0.5) * mmPerCell - startMm;
        const down = fallPerMm * along;
        if (down < 0 || down > beyond * mmPerCell) continue;
        const left = 1 - (stirred * along) / (lengthMm - startMm);
        addBell(column, down / mmPerCell - 0.5, strayMm(flow, down, parameters) / mmPerCell, left * each);
      }
      loads[name].set(column.subarray(0, rows), x * rows);
    }
  }
  return { mmPerCell, columns, rows, loads };
}
