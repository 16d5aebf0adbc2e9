/** What a report is made of; `report-page.ts` and `report-pdf.ts` each write the same blocks. */
export type Block =
  | { readonly kind: "heading"; readonly level: 1 | 2 | 3; readonly text: string }
  | { readonly kind: "text"; readonly text: string }
  | { readonly kind: "list"; readonly items: readonly string[] }
  | { readonly kind: "table"; readonly heads: readonly string[]; readonly rows: readonly (readonly string[])[] }
  /** `source` is a JPEG, or the address of one. */
  | { readonly kind: "photo"; readonly source: Uint8Array | string; readonly alt: string }
  /** SVG of this size in its own units; `alt` says all that it shows. */
  | { readonly kind: "drawing"; readonly svg: string; readonly alt: string };

export const heading = (level: 1 | 2 | 3, text: string): Block => ({ kind: "heading", level, text });
export const text = (said: string): Block => ({ kind: "text", text: said });
export const list = (items: readonly string[]): Block[] => (items.length > 0 ? [{ kind: "list", items }] : []);
/** 2031-05-04T06:10:00 → 2031-05-04 06:10; a time of day alone stays as it is. */
export const moment = (iso: string) => iso.replace("T", " ").slice(0, iso.includes("T") ? 16 : 5);
/** Three digits. */
export const short = (value: number) => String(Number(value.toPrecision(3)));
/** A table, or what is said where it would be empty. */
export const table = (
  heads: readonly string[],
  rows: readonly (readonly string[])[],
  empty: string | null = null,
): Block[] => {
  if (rows.length > 0) return [{ kind: "table", heads, rows }];
  return empty === null ? [] : [text(empty)];
};
