import type { Reading } from "../../vision/contract/index.ts";
import { el } from "../element.ts";
import { numberTables } from "../number-tables.ts";
import { table } from "../table.ts";
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
    ...tables.map(({ caption, heads, rows }) => table(caption, heads, rows)),
    unseen && el("p", {}, unseen),
    cover &&
      el("details", {}, el("summary", {}, say("numbers.coverTitle")), table(cover.caption, cover.heads, cover.rows)),
  );
}
