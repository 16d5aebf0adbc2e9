import type { Reading } from "../contract/index.ts";
import type { Deck } from "../stages.ts";
import { CLASS_LOOKS } from "./class-looks.ts";
import { outletLengthMm, outletPlace, type PicturePoint, type Size, type ToPicture } from "./picture-frame.ts";
import { type Placer, textAt } from "./placing.ts";
import { doubleLine, haloText, INK, PAPER, pathData, textWidthPx } from "./svg.ts";

/** What the drawing of everything along the outlet path needs. */
export interface OutletScene {
  readonly reading: Reading;
  readonly deck: Deck;
  readonly to: ToPicture;
  readonly size: Size;
  readonly fontPx: number;
  readonly placer: Placer;
}

/** Outlet mm as people are shown it: mm, or per cent of the outlet path when the deck's size is only assumed. */
export function outletWords({ reading, deck }: Pick<OutletScene, "reading" | "deck">) {
  const total = outletLengthMm(deck);
  const percent = reading.scale === "assumed";
  return {
    unit: percent ? "%" : "mm",
    number: (mm: number) => (percent ? ((100 * mm) / total).toFixed(1) : String(Math.round(mm))),
  };
}

/** The point on the picture `offPx` pixels off the deck (negative: onto it) from `mm` along the outlet path. */
export function beside({ deck, to }: OutletScene, mm: number, offPx: number): PicturePoint {
  const place = outletPlace(deck, mm);
  const [x, y] = to(place.at[0], place.at[1]);
  const [x1, y1] = to(place.at[0] + place.off[0] * 10, place.at[1] + place.off[1] * 10);
  const length = Math.hypot(x1 - x, y1 - y) || 1;
  return [x + ((x1 - x) / length) * offPx, y + ((y1 - y) / length) * offPx];
}

/** The outlet path with a ruler on its outer side: a tick each 100 mm (5 %), numbers each 200 mm (10 %). */
export function drawRuler(scene: OutletScene): string {
  const { reading, deck, fontPx, placer } = scene;
  const total = outletLengthMm(deck);
  const percent = reading.scale === "assumed";
  const tickMm = percent ? total / 20 : 100;
  const line = stretch(scene, 0, total, 0);
  const ticks: PicturePoint[][] = [];
  let numbers = "";
  for (let tick = 0; tick * tickMm <= total + 0.01; tick++) {
    const mm = tick * tickMm;
    const long = tick % 2 === 0;
    ticks.push([beside(scene, mm, 0), beside(scene, mm, fontPx * (long ? 0.55 : 0.3))]);
    if (!long) continue;
    const text = percent ? `${tick * 5}${tick === 0 ? " %" : ""}` : `${mm}${tick === 0 ? " mm" : ""}`;
    const size = fontPx * 0.9;
    const box = placer.placeFree(text, size, [beside(scene, mm, fontPx * 0.75 + textWidthPx(text, size) * 0.34)]);
    if (box) numbers += haloText(text, textAt(box), size, PAPER, INK);
  }
  const width = fontPx * 0.11;
  const d = pathData(line, false) + ticks.map((tick) => pathData(tick, false)).join("");
  return `<g id="ruler">${doubleLine(d, width, PAPER, INK)}${numbers}</g>`;
}

/** The outlet path from one place to another, `offPx` beside it, bent where the path bends. */
export function stretch(scene: OutletScene, fromMm: number, toMm: number, offPx: number): PicturePoint[] {
  const steps = Math.max(1, Math.ceil(Math.abs(toMm - fromMm) / 25));
  return Array.from({ length: steps + 1 }, (_, i) => beside(scene, fromMm + ((toMm - fromMm) * i) / steps, offPx));
}

/** Each band's stretch of the outlet in its colour, and a bar at each edge as wide as the edge is unsure (± 1 standard error). */
export function drawEdges(scene: OutletScene): string {
  const { reading, fontPx } = scene;
  const parts: string[] = [];
  const bars: string[] = [];
  for (const band of reading.bands) {
    const look = CLASS_LOOKS.find((l) => l.kind === band.kind)!;
    for (const part of band.outlet) {
      const side = stretch(scene, part.fromMm, part.toMm, -fontPx * 0.22);
      parts.push(doubleLine(pathData(side, false), fontPx * 0.3, look.colour, INK));
      for (const [mm, errorMm] of [
        [part.fromMm, part.fromErrorMm],
        [part.toMm, part.toErrorMm],
      ] as const) {
        if (errorMm === null) continue;
        const inner = -fontPx * 1.1;
        const outer = stretch(scene, mm - errorMm, mm + errorMm, 0);
        const area = [...outer, ...stretch(scene, mm + errorMm, mm - errorMm, inner)];
        bars.push(
          `<path d="${pathData(area, true)}" fill="${PAPER}" fill-opacity="0.85" stroke="${INK}" stroke-width="${(fontPx * 0.1).toFixed(1)}" stroke-linejoin="round"/>`,
        );
      }
    }
  }
  return `<g id="edges">${parts.join("")}${bars.join("")}</g>`;
}
