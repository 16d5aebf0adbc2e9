import type { Reading } from "../vision/contract/index.ts";
import { outletUnits } from "./reading-words.ts";
import { given } from "./units.ts";
import { number, percent, say, splitterName } from "./words.ts";

type Units = ReturnType<typeof outletUnits>;

/** One table of numbers, in words of the language spoken. */
export interface NumberTable {
  readonly caption: string;
  readonly heads: readonly string[];
  /** Each begins with what it is about. */
  readonly rows: readonly (readonly string[])[];
}

/** What was measured, as tables: numbers with their unit and, where one is known, one standard error (±). `cover` null where no deck was seen. */
export function numberTables(reading: Reading) {
  const units = outletUnits(reading);
  const tables = [bands, splitters, launders, dryPatches, rills].map((table) => table(reading, units));
  return {
    places: say(units.assumed ? "numbers.placePercent" : "numbers.placeMm"),
    noBand: tables[0] ? null : say("numbers.noBand"),
    tables: tables.filter((table) => table !== null),
    unseen: unseenOutlet(reading, units),
    cover: cover(reading),
  };
}

function bands({ bands: all }: Reading, units: Units): NumberTable | null {
  const rows = all.flatMap((band) =>
    band.outlet.map((o) => {
      const both = o.fromErrorMm !== null && o.toErrorMm !== null;
      const width =
        units.number(o.toMm - o.fromMm) + units.error(both ? Math.hypot(o.fromErrorMm!, o.toErrorMm!) : null);
      const [from, to] = [
        units.number(o.fromMm) + units.error(o.fromErrorMm),
        units.number(o.toMm) + units.error(o.toErrorMm),
      ];
      return [say(`class.${band.kind}`), from, to, width, percent(band.confidence)];
    }),
  );
  if (rows.length === 0) return null;
  const { unit } = units;
  const heads = [
    say("numbers.band"),
    say("numbers.from", { unit }),
    say("numbers.to", { unit }),
    say("numbers.width", { unit }),
    say("numbers.sure"),
  ];
  return { caption: say("numbers.bands"), heads, rows };
}

function splitters({ splitters: all }: Reading, units: Units): NumberTable | null {
  if (all.length === 0) return null;
  const rows = all.map((s) => [
    splitterName(s.name),
    units.number(s.atMm),
    s.suggestedMm === null ? say("numbers.noBetter") : units.number(s.suggestedMm) + units.error(s.errorMm),
  ]);
  const { unit } = units;
  const heads = [say("numbers.splitter"), say("numbers.now", { unit }), say("numbers.best", { unit })];
  return { caption: say("numbers.splitters"), heads, rows };
}

function launders({ launders: all }: Reading, units: Units): NumberTable | null {
  if (all.length < 2) return null; // one launder takes everything: there is no share to tell
  const rows = all.map((l) => [
    say("numbers.launderPlace", {
      name: l.name,
      product: say(`class.${l.product}`),
      from: units.number(l.fromMm),
      to: units.number(l.toMm),
      unit: units.unit,
    }),
    percent(l.carried.dense),
    percent(l.carried.middling),
    percent(l.carried.light),
  ]);
  const heads = [say("numbers.launder"), say("taps.dense"), say("taps.middling"), say("taps.light")];
  return { caption: say("numbers.launders"), heads, rows };
}

function dryPatches({ dryPatches: all, grid }: Reading, units: Units): NumberTable | null {
  if (all.length === 0) return null;
  const [lengthMm, widthMm] = grid ? [grid.columns * grid.mmPerCell, grid.rows * grid.mmPerCell] : [1, 1];
  const place = placeOn(grid, units);
  const rows = all.map((p, i) => {
    const where = place(p.centre);
    const size = units.assumed
      ? say("numbers.ofDeck", { share: percent(p.areaMm2 / (lengthMm * widthMm)) })
      : given(Math.round(p.areaMm2 / 100), "cm²");
    return [number(i + 1), where, size, percent(p.confidence)];
  });
  const heads = [say("numbers.patch"), say("numbers.middle"), say("numbers.area"), say("numbers.sure")];
  return { caption: say("numbers.dryPatches"), heads, rows };
}

function rills({ rills: all, grid }: Reading, units: Units): NumberTable | null {
  if (all.length === 0) return null;
  const place = placeOn(grid, units);
  const rows = all.map(({ path, widthMm, confidence }, i) => {
    const width = units.assumed
      ? say("numbers.ofWidth", { share: percent(widthMm / (grid ? grid.rows * grid.mmPerCell : 1)) })
      : given(Math.round(widthMm), "mm");
    return [number(i + 1), place(path[0]!), place(path.at(-1)!), width, percent(confidence)];
  });
  const heads = [
    say("numbers.rill"),
    say("numbers.begins"),
    say("numbers.ends"),
    say("numbers.broad"),
    say("numbers.sure"),
  ];
  return { caption: say("numbers.rills"), heads, rows };
}

function unseenOutlet({ outletUnseenMm: all }: Reading, units: Units): string | null {
  if (all.length === 0) return null;
  const list = all.map(([from, to]) =>
    say("numbers.span", { from: units.number(from), to: units.number(to), unit: units.unit }),
  );
  return say("numbers.unseen", { list: list.join(", ") });
}

/** A place on the deck, in words. */
function placeOn(grid: Reading["grid"], units: Units) {
  const [lengthMm, widthMm] = grid ? [grid.columns * grid.mmPerCell, grid.rows * grid.mmPerCell] : [1, 1];
  return ([x, y]: readonly [number, number]) =>
    units.assumed
      ? say("numbers.patchPercent", { x: percent(x / lengthMm), y: percent(y / widthMm) })
      : say("numbers.patchMm", { x: given(Math.round(x), "mm"), y: given(Math.round(y), "mm") });
}

function cover({ cover: share }: Reading): NumberTable | null {
  if (!share) return null;
  const rows = (["dense", "middling", "light", "bare", "dry", "unseen"] as const).map((k) => [
    say(`class.${k}`),
    percent(share[k]),
  ]);
  return { caption: say("numbers.coverShare"), heads: [say("numbers.cover"), say("numbers.share")], rows };
}
