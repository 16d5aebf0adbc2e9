import type { Reading } from "../../vision/contract/index.ts";
import { el } from "../element.ts";
import { outletUnits, percent } from "../words.ts";

type Units = ReturnType<typeof outletUnits>;

/** What was measured, as tables: numbers with their unit and, where one is known, one standard error (±). */
export function numbers(reading: Reading): HTMLElement | null {
  if (!reading.quality.usable) return null;
  const units = outletUnits(reading);
  const place = units.assumed
    ? "Places are per cent of the outlet, counted from the high corner of the product end: the deck's size is not known."
    : "Places are mm along the outlet, counted from the high corner of the product end.";
  return el(
    "section",
    { class: "card numbers" },
    el("h2", {}, "Numbers"),
    el("p", { class: "hint-line" }, `${place} ± is one standard error.`),
    bands(reading, units),
    splitters(reading, units),
    launders(reading, units),
    dryPatches(reading, units),
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
    { class: "table-wrap" },
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
      return [band.kind, from, to, width, percent(band.confidence)];
    }),
  );
  if (rows.length === 0) return el("p", {}, "No band was seen to leave the deck.");
  const u = units.unit;
  return table("Bands at the outlet", ["Band", `From, ${u}`, `To, ${u}`, `Width, ${u}`, "How sure"], rows);
}

function splitters({ splitters: all }: Reading, units: Units): HTMLElement | null {
  if (all.length === 0) return null;
  const rows = all.map((s) => [
    s.name,
    units.number(s.atMm),
    s.suggestedMm === null ? "no better place seen" : units.number(s.suggestedMm) + units.error(s.errorMm),
  ]);
  return table("Splitters", ["Splitter", `Now, ${units.unit}`, `Best place, ${units.unit}`], rows);
}

function launders({ launders: all }: Reading, units: Units): HTMLElement | null {
  if (all.length < 2) return null; // one launder takes everything: there is no share to tell
  const rows = all.map((l) => [
    `${l.name}: ${l.product}, ${units.number(l.fromMm)} to ${units.number(l.toMm)} ${units.unit}`,
    percent(l.carried.dense),
    percent(l.carried.middling),
    percent(l.carried.light),
  ]);
  return table("Share of each band that falls into each launder", ["Launder", "Dense", "Middling", "Light"], rows);
}

function dryPatches({ dryPatches: all, grid }: Reading, units: Units): HTMLElement | null {
  if (all.length === 0) return null;
  const [lengthMm, widthMm] = grid ? [grid.columns * grid.mmPerCell, grid.rows * grid.mmPerCell] : [1, 1];
  const rows = all.map((p, i) => {
    const where = units.assumed
      ? `${percent(p.centre[0] / lengthMm)} of the length, ${percent(p.centre[1] / widthMm)} of the width`
      : `${Math.round(p.centre[0])} mm from the drive end, ${Math.round(p.centre[1])} mm down the slope`;
    const size = units.assumed
      ? `${percent(p.areaMm2 / (lengthMm * widthMm))} of the deck`
      : `${Math.round(p.areaMm2 / 100)} cm²`;
    return [String(i + 1), where, size, percent(p.confidence)];
  });
  return table("Dry patches", ["Patch", "Middle", "Area", "How sure"], rows);
}

function cover({ cover: share }: Reading): HTMLElement | null {
  if (!share) return null;
  const rows = (["dense", "middling", "light", "bare", "dry", "unseen"] as const).map((k) => [
    k === "bare" ? "bare, wet" : k === "unseen" ? "not seen" : k,
    percent(share[k]),
  ]);
  return el(
    "details",
    {},
    el("summary", {}, "What covers the deck"),
    table("Share of the deck", ["Cover", "Share"], rows),
  );
}
