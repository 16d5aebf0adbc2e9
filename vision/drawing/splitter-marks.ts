import { beside, type OutletScene, outletWords, stretch } from "./outlet-marks.ts";
import type { OverlayWords } from "./overlay-words.ts";
import type { PicturePoint } from "./picture-frame.ts";
import { type Box, textAt } from "./placing.ts";
import { doubleLine, haloText, INK, pathData } from "./svg.ts";

/** The colour of splitters and of what is said about them: on no deck, and no band. */
export const SPLITTER_COLOUR = "#ffe14d";
/** Length of a pointer's stem, in heights of the text: a ruler number of four digits fits between outlet and arrow. */
const STEM = 3.1;

/** One splitter as it is drawn. */
export interface SplitterPlan {
  readonly atMm: number;
  /** Where it would stand next; null when it stays. */
  readonly nextMm: number | null;
  readonly text: string;
}
export function splitterPlans(scene: OutletScene, { splitterNames }: OverlayWords): SplitterPlan[] {
  const words = outletWords(scene);
  return scene.reading.splitters.map(({ name, atMm, suggestedMm }) => {
    const nextMm = suggestedMm !== null && words.number(suggestedMm) !== words.number(atMm) ? suggestedMm : null;
    const next = nextMm === null ? "" : ` → ${words.number(nextMm)}`;
    return { atMm, nextMm, text: `${splitterNames[name] ?? name} ${words.number(atMm)}${next} ${words.unit}` };
  });
}

/** A filled pointer where each splitter stands now, a hollow one on a dashed stem where it would stand, an arrow between. */
export function drawSplitters(scene: OutletScene, plans: readonly SplitterPlan[]): string {
  const marks = plans.map(({ atMm, nextMm }) => {
    const next = nextMm === null ? "" : moveArrow(scene, atMm, nextMm) + pointer(scene, nextMm, true);
    return next + pointer(scene, atMm, false);
  });
  return `<g id="splitters">${marks.join("")}</g>`;
}

/** What each splitter is called, where it stands and where it would stand. */
export function drawSplitterWords(scene: OutletScene, plans: readonly SplitterPlan[]): string {
  return `<g id="splitter-words">${plans.map(({ atMm, text }) => label(scene, atMm, text)).join("")}</g>`;
}

/** A triangle whose tip touches the outlet path, on a stem that runs off the deck. */
function pointer(scene: OutletScene, mm: number, next: boolean): string {
  const { fontPx, placer } = scene;
  const tip = beside(scene, mm, fontPx * 0.05);
  const end = stemEnd(scene, mm);
  const length = Math.hypot(end[0] - tip[0], end[1] - tip[1]) || 1;
  const [ux, uy] = [(end[0] - tip[0]) / length, (end[1] - tip[1]) / length];
  const base = (side: number): PicturePoint => [
    tip[0] + (ux * 1.05 - uy * 0.45 * side) * fontPx,
    tip[1] + (uy * 1.05 + ux * 0.45 * side) * fontPx,
  ];
  placer.take([tip, end, base(1), base(-1)]);
  const stem = pathData([base(0), end], false);
  const dash = next ? `stroke-dasharray="${(fontPx * 0.3).toFixed(1)} ${(fontPx * 0.34).toFixed(1)}"` : "";
  return (
    doubleLine(stem, fontPx * 0.2, SPLITTER_COLOUR, INK, dash) +
    pointerHead([tip, base(1), base(-1)], fontPx * 0.13, next)
  );
}

/** Filled: where a splitter stands. Hollow: where it would stand next. */
export function pointerHead(corners: readonly PicturePoint[], linePx: number, next: boolean): string {
  const d = pathData(corners, true);
  const line = (colour: string, widthPx: number, fill: string) =>
    `<path d="${d}" fill="${fill}" stroke="${colour}" stroke-width="${widthPx.toFixed(1)}" stroke-linejoin="round"/>`;
  return next
    ? line(INK, linePx * 2.6, INK) + line(SPLITTER_COLOUR, linePx, INK)
    : line(INK, linePx * 1.6, SPLITTER_COLOUR);
}

/** End of a pointer's stem, kept inside the picture. */
const stemEnd = (scene: OutletScene, mm: number) => scene.placer.clamp(beside(scene, mm, scene.fontPx * STEM));

/** An arrow between the ends of two stems, along the outlet. */
function moveArrow(scene: OutletScene, fromMm: number, toMm: number): string {
  const { fontPx, placer } = scene;
  const line = stretch(scene, fromMm, toMm, fontPx * STEM).map((point) => placer.clamp(point));
  const [end, before] = [line.at(-1)!, line.at(-2)!];
  const length = Math.hypot(end[0] - before[0], end[1] - before[1]) || 1;
  const [ux, uy] = [(end[0] - before[0]) / length, (end[1] - before[1]) / length];
  const barb = (side: number): PicturePoint => [
    end[0] - (ux - uy * 0.7 * side) * fontPx * 0.45,
    end[1] - (uy + ux * 0.7 * side) * fontPx * 0.45,
  ];
  const head = length < 1e-6 ? "" : pathData([barb(1), end, barb(-1)], false);
  // words stay off the line itself, not off the whole box that a slanting line spans
  line.slice(1).forEach((point, i) => {
    placer.take(around([line[i]!, point], fontPx * 0.16));
  });
  return doubleLine(pathData(line, false) + head, fontPx * 0.17, SPLITTER_COLOUR, INK);
}

const around = (points: readonly PicturePoint[], px: number): PicturePoint[] =>
  points.flatMap(([x, y]): PicturePoint[] => [
    [x - px, y - px],
    [x + px, y + px],
  ]);

/** The splitter's words in a clear place nearby, tied to its stem by a thin line. */
function label(scene: OutletScene, atMm: number, text: string): string {
  const { fontPx, placer } = scene;
  const from = stemEnd(scene, atMm);
  const wishes = [1, 2, 3.2, 4.6, 6, 8, 10].flatMap((far) =>
    Array.from({ length: 12 }, (_, i): PicturePoint => {
      const turn = (i * Math.PI) / 6;
      return [from[0] + Math.cos(turn) * far * 1.9 * fontPx, from[1] + Math.sin(turn) * far * fontPx];
    }),
  );
  const box = placer.placeClear(text, fontPx, wishes);
  const tie = pathData([from, nearest(box, from)], false);
  return (
    doubleLine(tie, fontPx * 0.07, SPLITTER_COLOUR, INK) + haloText(text, textAt(box), fontPx, SPLITTER_COLOUR, INK)
  );
}

const nearest = (box: Box, [x, y]: PicturePoint): PicturePoint => [
  Math.max(box.x, Math.min(box.x + box.width, x)),
  Math.max(box.y + box.height * 0.15, Math.min(box.y + box.height * 0.85, y)),
];
