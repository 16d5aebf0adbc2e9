import { createHash } from "node:crypto";
import type { Block } from "./report-blocks.ts";

const STYLE = `
body { max-width: 50rem; margin: 0 auto; padding: 1rem; font: 1rem/1.5 system-ui, sans-serif; color: #16191d; background: #fff }
h1, h2, h3 { line-height: 1.25; margin: 1.5rem 0 0.5rem }
img, svg { max-width: 100%; height: auto }
figure { margin: 1rem 0 }
table { display: block; overflow-x: auto; border-collapse: collapse }
th, td { padding: 0.25rem 1rem 0.25rem 0; text-align: start; border-bottom: 1px solid #bbb }
`;
const OWN_STYLE = createHash("sha256").update(STYLE).digest("base64");
/** What a page of this kind may do: show its pictures in its own style, and nothing else. It holds what people typed. @param pictures  Where from. */
export const pagePolicy = (pictures: "data:" | "'self'") =>
  `sandbox; default-src 'none'; style-src 'sha256-${OWN_STYLE}'; img-src ${pictures}`;

/** A report as one HTML page without scripts, its photos in it. @param language  BCP 47. */
export function writePage(title: string, blocks: readonly Block[], language = "en"): string {
  return [
    `<!doctype html><html lang="${language}"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width"><title>${safe(title)}</title><style>${STYLE}</style></head><body>`,
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
