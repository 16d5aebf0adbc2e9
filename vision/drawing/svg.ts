import type { PicturePoint } from "./picture-frame.ts";

/** Small helpers that write SVG 1.1 text. Only features that librsvg and browsers draw alike. */

export const FONT = "DejaVu Sans, Liberation Sans, Arial, sans-serif";
export const INK = "#101418";
export const PAPER = "#ffffff";

const ENTITIES: Record<string, string> = { "&": "&amp;", "<": "&lt;", ">": "&gt;", '"': "&quot;", "'": "&#39;" };
/** Text safe inside an element or an attribute; control characters, which XML forbids, are dropped. */
export function escapeXml(text: string): string {
  const printable = [...text].filter((c) => c >= " " && !(c >= "\ud800" && c <= "\udfff") && c < "\ufffe").join("");
  return printable.replace(/[&<>"']/g, (c) => ENTITIES[c]!);
}

const short = (n: number) => String(Math.round(n * 10) / 10);
export const xy = ([x, y]: PicturePoint) => `${short(x)} ${short(y)}`;

/** Path data through the points. */
export function pathData(points: readonly PicturePoint[], closed: boolean): string {
  return points.length === 0 ? "" : `M${points.map(xy).join("L")}${closed ? "Z" : ""}`;
}

/** The same line twice: a wide one below, a narrow one above, so that it shows on dark and on pale. */
export function doubleLine(d: string, widthPx: number, colour: string, below: string, extra = ""): string {
  const shared = `d="${d}" fill="none" stroke-linejoin="round" stroke-linecap="round"`;
  return (
    `<path ${shared} stroke="${below}" stroke-width="${short(widthPx * 2.1)}"/>` +
    `<path ${shared} stroke="${colour}" stroke-width="${short(widthPx)}" ${extra}/>`
  );
}

/** Room that bold text takes, picture pixels: DejaVu Sans Bold is the widest of the fonts asked for. */
export const textWidthPx = (text: string, fontPx: number) => [...text].length * fontPx * 0.66;

/** Bold text with a halo, its middle at x and its baseline at y. */
export function haloText(
  text: string,
  [x, y]: PicturePoint,
  fontPx: number,
  fill: string,
  halo: string,
  anchor: "middle" | "start" = "middle",
): string {
  const words = escapeXml(text);
  const shared = `x="${short(x)}" y="${short(y)}" font-size="${short(fontPx)}" text-anchor="${anchor}"`;
  return (
    `<text ${shared} fill="${halo}" stroke="${halo}" stroke-width="${short(fontPx * 0.26)}" stroke-linejoin="round">${words}</text>` +
    `<text ${shared} fill="${fill}">${words}</text>`
  );
}
