import { el } from "./element.ts";

/** Files that the page makes, saved by the browser. */

/** How long a browser may take to save one. */
const SAVING_MS = 60_000;

export function saveFile(blob: Blob, name: string): void {
  const url = URL.createObjectURL(blob);
  el("a", { href: url, download: name }).click();
  setTimeout(() => URL.revokeObjectURL(url), SAVING_MS);
}
export const saveJson = (data: unknown, name: string): void =>
  saveFile(new Blob([JSON.stringify(data, null, 2)], { type: "application/json" }), name);
