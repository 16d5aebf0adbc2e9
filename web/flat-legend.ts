import { CLASS_NAMES, type Reading } from "../vision/contract/index.ts";
import { el, svgEl } from "./element.ts";
import type { SplitterRange } from "./flat-deck.ts";
import { say } from "./words.ts";

/** What the overlay draws, for the flat deck: its bands without its English words, and what colours and marks mean. */

/** What only the overlay on the photo has in English words or without a handle. */
const LEFT_OUT = "#ruler, #splitters, #names, #splitter-words, #legend, #dry text, title";

/** The overlay's bands, outline, edges and patches, without its words. */
export function bandsOf(svg: string): SVGSVGElement {
  const drawn = new DOMParser().parseFromString(svg, "image/svg+xml").documentElement as unknown as SVGSVGElement;
  for (const part of drawn.querySelectorAll(LEFT_OUT)) part.remove();
  for (const part of drawn.querySelectorAll("g[id]")) part.removeAttribute("id"); // the page has ids of its own
  drawn.setAttribute("overflow", "visible");
  return document.importNode(drawn, true);
}

/** One line of a legend: a mark, drawn 36 × 22, and what it means. */
export const legendLine = (drawn: readonly SVGElement[], words: string): HTMLElement =>
  el("li", {}, svgEl("svg", { viewBox: "0 0 36 22", class: "flat-key", "aria-hidden": "true" }, ...drawn), words);

/** What colours, hatches and marks mean, in the page's own words. */
export function flatLegend(reading: Reading, splitters: readonly SplitterRange[]): HTMLElement {
  const area = (name: (typeof CLASS_NAMES)[number]) => {
    const place = { x: 1, y: 1, width: 34, height: 20 };
    const hatch = name === "dry" ? [] : [svgEl("rect", { ...place, fill: `url(#db-${name})` })];
    const box = svgEl("rect", { ...place, class: `flat-swatch flat-${name}` });
    return legendLine([box, ...hatch], say(`class.${name}`));
  };
  const pointer = (kind: string) => svgEl("polygon", { points: "18 2 26 20 10 20", class: kind });
  const shown = CLASS_NAMES.filter((name) => name !== "bare" && (reading.cover?.[name] ?? 0) > 0.002);
  const edge = [
    svgEl("rect", { x: 1, y: 7, width: 34, height: 8, class: "flat-swatch flat-middling" }),
    svgEl("rect", { x: 13, y: 1, width: 10, height: 20, class: "flat-edge" }),
  ];
  const moves = splitters.some(({ atMm, suggestedMm }) => suggestedMm !== null && suggestedMm !== atMm);
  return el(
    "ul",
    { class: "flat-legend" },
    ...shown.map(area),
    legendLine(edge, say("flat.edge")),
    splitters.length > 0 && legendLine([pointer("flat-pointer")], say("flat.now")),
    moves && legendLine([pointer("flat-pointer flat-best")], say("flat.bestPlace")),
  );
}
