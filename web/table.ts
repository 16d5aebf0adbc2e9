import { el } from "./element.ts";

type Cell = string | HTMLElement;

/** @param cells  The first is what the row is about. @param heads  Named in each cell, for a table that is stacked on a phone. */
export const tableRow = ([first, ...cells]: readonly Cell[], heads: readonly string[] = []): HTMLElement =>
  el(
    "tr",
    { role: "row" },
    el("th", { scope: "row", role: "rowheader" }, first),
    ...cells.map((cell, i) => el("td", { role: "cell", "data-head": heads[i + 1] }, cell)),
  );

/** A table too wide for a phone: there each row stands as a block, each of its numbers on a line with its name. */
export function wideTable(caption: string, heads: readonly string[], rows: readonly (readonly Cell[])[]): HTMLElement {
  const made = table(caption, heads, rows);
  made.classList.add("stacks");
  return made;
}

/** Numbers in rows; it may be wider than a phone. @param body  Holds the rows, where they are filled in anew later. */
export function table(
  caption: string,
  heads: readonly string[],
  rows: readonly (readonly Cell[])[],
  body = el("tbody", { role: "rowgroup" }),
): HTMLElement {
  body.append(...rows.map((cells) => tableRow(cells, heads)));
  return el(
    "div",
    { class: "table-wrap", tabindex: 0, role: "group", "aria-label": caption },
    el(
      "table",
      // said, since a stacked table is one no more by its looks
      { role: "table" },
      el("caption", {}, caption),
      heads.length > 0 &&
        el(
          "thead",
          { role: "rowgroup" },
          el("tr", { role: "row" }, ...heads.map((head) => el("th", { scope: "col", role: "columnheader" }, head))),
        ),
      body,
    ),
  );
}
