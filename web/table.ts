import { el } from "./element.ts";

type Cell = string | HTMLElement;

/** @param cells  The first is what the row is about. */
export const tableRow = ([first, ...cells]: readonly Cell[]): HTMLElement =>
  el("tr", {}, el("th", { scope: "row" }, first), ...cells.map((cell) => el("td", {}, cell)));

/** Numbers in rows; it may be wider than a phone. @param body  Holds the rows, where they are filled in anew later. */
export function table(
  caption: string,
  heads: readonly string[],
  rows: readonly (readonly Cell[])[],
  body = el("tbody"),
): HTMLElement {
  body.append(...rows.map(tableRow));
  return el(
    "div",
    { class: "table-wrap", tabindex: 0, role: "group", "aria-label": caption },
    el(
      "table",
      {},
      el("caption", {}, caption),
      heads.length > 0 && el("thead", {}, el("tr", {}, ...heads.map((head) => el("th", { scope: "col" }, head)))),
      body,
    ),
  );
}
