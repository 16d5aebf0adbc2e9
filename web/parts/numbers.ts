import type { Reading } from "../../vision/contract/index.ts";
import { el } from "../element.ts";
import { type NumberTable, numberTables } from "../number-tables.ts";
import { say } from "../words.ts";

/** What was measured, as tables. */
export function numbers(reading: Reading): HTMLElement | null {
  if (!reading.quality.usable) return null;
  const { places, noBand, tables, unseen, cover } = numberTables(reading);
  return el(
    "section",
    { class: "card numbers" },
    el("h2", {}, say("numbers.title")),
    el("p", { class: "hint-line" }, places),
    noBand && el("p", {}, noBand),
    ...tables.map(table),
    unseen && el("p", {}, unseen),
    cover && el("details", {}, el("summary", {}, say("numbers.coverTitle")), table(cover)),
  );
}

function table({ caption, heads, rows }: NumberTable): HTMLElement {
  const head = el("tr", {}, ...heads.map((h) => el("th", { scope: "col" }, h)));
  const body = rows.map(([first = "", ...rest]) =>
    el("tr", {}, el("th", { scope: "row" }, first), ...rest.map((cell) => el("td", {}, cell))),
  );
  return el(
    "div",
    { class: "table-wrap", tabindex: 0, role: "group", "aria-label": caption }, // it may be wider than a phone
    el("table", {}, el("caption", {}, caption), el("thead", {}, head), el("tbody", {}, ...body)),
  );
}
