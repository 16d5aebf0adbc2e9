import type { Reading } from "../../vision/contract/index.ts";
import { el } from "../element.ts";
import { number, outletUnits, percent, say } from "../words.ts";

type Units = ReturnType<typeof outletUnits>;

/** What was measured, as tables: numbers with their unit and, where one is known, one standard error (±). */
export function numbers(reading: Reading): HTMLElement | null {
  if (!reading.quality.usable) return null;
  const units = outletUnits(reading);
  return el(
    "section",
    { class: "card numbers" },
    el("h2", {}, say("numbers.title")),
    el("p", { class: "hint-line" }, say(units.assumed ? "numbers.placePercent" : "numbers.placeMm")),
    bands(reading, units),
    splitters(reading, units),
    launders(reading, units),
    dryPatches(reading, units),
    rills(reading, units),
    unseenOutlet(reading, units),
    cover(reading),
  );
}

function table(caption: string, heads: readonly string[], rows: readonly (readonly string[])[]): HTMLElement {
  const head = el("tr", {}, ...heads.map((h) => el("th", { scope: "col" }, h)));
  const body = rows.map(([first, ...rest]) =>
    el("tr", {}, el("th", { scope: "row" }, first), ...rest.map((cell) => el("td", {}, cell))),
  );
  return el(
    "div",
    { class: "table-wrap", tabindex: 0, role: "group", "aria-label": caption }, // it may be wider than a phone
    el("table", {}, el("caption", {}, caption), el("thead", {}, head), el("tbody", {}, ...body)),
  );
}

function bands({ bands: all }: Reading, units: Units): HTMLElement {
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
  if (rows.length === 0) return el("p", {}, say("numbers.noBand"));
  const { unit } = units;
  const heads = [
    say("numbers.band"),
    say("numbers.from", { unit }),
    say("numbers.to", { unit }),
    say("numbers.width", { unit }),
    say("numbers.sure"),
  ];
  return table(say("numbers.bands"), heads, rows);
}

function splitters({ splitters: all }: Reading, units: Units): HTMLElement | null {
  if (all.length === 0) return null;
  const rows = all.map((s) => [
    s.name,
    units.number(s.atMm),
    s.suggestedMm === null ? say("numbers.noBetter") : units.number(s.suggestedMm) + units.error(s.errorMm),
  ]);
  const { unit } = units;
  const heads = [say("numbers.splitter"), say("numbers.now", { unit }), say("numbers.best", { unit })];
  return table(say("numbers.splitters"), heads, rows);
}

function launders({ launders: all }: Reading, units: Units): HTMLElement | null {
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
  return table(say("numbers.launders"), heads, rows);
}

function dryPatches({ dryPatches: all, grid }: Reading, units: Units): HTMLElement | null {
  if (all.length === 0) return null;
  const [lengthMm, widthMm] = grid ? [grid.columns * grid.mmPerCell, grid.rows * grid.mmPerCell] : [1, 1];
  const place = placeOn(grid, units);
  const rows = all.map((p, i) => {
    const where = place(p.centre);
    const size = units.assumed
      ? say("numbers.ofDeck", { share: percent(p.areaMm2 / (lengthMm * widthMm)) })
      : `${number(p.areaMm2 / 100)} cm²`;
    return [number(i + 1), where, size, percent(p.confidence)];
  });
  const heads = [say("numbers.patch"), say("numbers.middle"), say("numbers.area"), say("numbers.sure")];
  return table(say("numbers.dryPatches"), heads, rows);
}

function rills({ rills: all, grid }: Reading, units: Units): HTMLElement | null {
  if (all.length === 0) return null;
  const place = placeOn(grid, units);
  const rows = all.map(({ path, widthMm, confidence }, i) => {
    const width = units.assumed
      ? say("numbers.ofWidth", { share: percent(widthMm / (grid ? grid.rows * grid.mmPerCell : 1)) })
      : `${number(widthMm)} mm`;
    return [number(i + 1), place(path[0]!), place(path.at(-1)!), width, percent(confidence)];
  });
  const heads = [
    say("numbers.rill"),
    say("numbers.begins"),
    say("numbers.ends"),
    say("numbers.broad"),
    say("numbers.sure"),
  ];
  return table(say("numbers.rills"), heads, rows);
}

function unseenOutlet({ outletUnseenMm: all }: Reading, units: Units): HTMLElement | null {
  if (all.length === 0) return null;
  const list = all.map(([from, to]) =>
    say("numbers.span", { from: units.number(from), to: units.number(to), unit: units.unit }),
  );
  return el("p", {}, say("numbers.unseen", { list: list.join(", ") }));
}

/** A place on the deck, in words. */
function placeOn(grid: Reading["grid"], units: Units) {
  const [lengthMm, widthMm] = grid ? [grid.columns * grid.mmPerCell, grid.rows * grid.mmPerCell] : [1, 1];
  return ([x, y]: readonly [number, number]) =>
    units.assumed
      ? say("numbers.patchPercent", { x: percent(x / lengthMm), y: percent(y / widthMm) })
      : say("numbers.patchMm", { x: number(x), y: number(y) });
}

function cover({ cover: share }: Reading): HTMLElement | null {
  if (!share) return null;
  const rows = (["dense", "middling", "light", "bare", "dry", "unseen"] as const).map((k) => [
    say(`class.${k}`),
    percent(share[k]),
  ]);
  return el(
    "details",
    {},
    el("summary", {}, say("numbers.coverTitle")),
    table(say("numbers.coverShare"), [say("numbers.cover"), say("numbers.share")], rows),
  );
}
