import type { Block } from "./report-blocks.ts";

/** What a report's page may do: show its own pictures and nothing else. It holds what people typed. */
export const REPORT_POLICY = "sandbox; default-src 'none'; img-src data:";

/** A report as one HTML page without scripts or styles, its photos in it. @param language  BCP 47. */
export function writePage(title: string, blocks: readonly Block[], language = "en"): string {
  return [
    `<!doctype html><html lang="${language}"><head><meta charset="utf-8"><title>${safe(title)}</title></head><body>`,
    ...blocks.map(element),
    "</body></html>",
  ].join("\n");
}

function element(block: Block): string {
  switch (block.kind) {
    case "heading":
      return `<h${block.level}>${safe(block.text)}</h${block.level}>`;
    case "text":
      return `<p>${safe(block.text)}</p>`;
    case "list":
      return `<ul>${block.items.map((item) => `<li>${safe(item)}</li>`).join("")}</ul>`;
    case "table": {
      const heads = block.heads.map((head) => `<th scope="col">${safe(head)}</th>`).join("");
      const rows = block.rows.map((row) => `<tr>${row.map((cell) => `<td>${safe(cell)}</td>`).join("")}</tr>`);
      return `<table><thead><tr>${heads}</tr></thead><tbody>${rows.join("")}</tbody></table>`;
    }
    case "photo": {
      const { source } = block;
      const url =
        typeof source === "string" ? source : `data:image/jpeg;base64,${Buffer.from(source).toString("base64")}`;
      return `<p><img src="${safe(url)}" alt="${safe(block.alt)}" width="600"></p>`;
    }
    case "drawing":
      return `<figure>${block.svg}<figcaption>${safe(block.alt)}</figcaption></figure>`;
  }
}

/** What people typed, as text of a page and never as its code. */
export const safe = (text: string) =>
  text.replace(/[&<>"']/g, (c) => ({ "&": "&amp;", "<": "&lt;", ">": "&gt;", '"': "&quot;", "'": "&#39;" })[c] ?? c);
