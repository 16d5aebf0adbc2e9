import { el, svgEl } from "../element.ts";
import { legendLine } from "../flat-legend.ts";
import { COVERS, coverOf, type Look, PRODUCTS, spanOf, trackWords } from "../history.ts";
import { outletUnits } from "../reading-words.ts";
import { number, percent, say } from "../words.ts";

/** A deck in time as two drawings over one row of photos: where bands leave the deck, and what covers it. */

const [LEFT, RIGHT, TOP, BOTTOM] = [52, 14, 34, 30];
/** Room of one photo, at least and at most, and the bar in it, px. */
const [LEAST_STEP, MOST_STEP, BAR] = [46, 84, 24];
/** Least width, so that words keep their size on a phone. */
const LEAST_WIDTH = 340;

interface Frame {
  readonly width: number;
  readonly height: number;
  readonly step: number;
  /** Middle of a photo's room. */
  readonly x: (index: number) => number;
  /** @param share  0 at the top, 1 at the foot. */
  readonly y: (share: number) => number;
}
function frameOf(photos: number, height: number): Frame {
  const step = Math.max(LEAST_STEP, Math.min(MOST_STEP, (LEAST_WIDTH - LEFT - RIGHT) / photos));
  const width = Math.max(LEAST_WIDTH, LEFT + RIGHT + photos * step);
  return {
    width,
    height: TOP + height + BOTTOM,
    step,
    x: (index) => LEFT + step * (index + 0.5),
    y: (share) => TOP + height * share,
  };
}

/** @param changes  What was changed before each look. */
export function historyPlot(looks: readonly Look[], changes: readonly (readonly string[])[]): HTMLElement {
  return el("div", { class: "history-plots" }, edgesPlot(looks, changes), coverPlot(looks, changes));
}

function figure(caption: string, words: readonly string[], drawing: SVGSVGElement, keys: HTMLElement): HTMLElement {
  return el(
    "figure",
    { class: "history-plot" },
    el("figcaption", {}, el("b", {}, caption)),
    el("div", { class: "table-wrap", tabindex: 0, role: "group", "aria-label": caption, dir: "ltr" }, drawing),
    keys,
    ...words.map((line) => el("p", { class: "hint-line" }, line)),
  );
}

function edgesPlot(looks: readonly Look[], changes: readonly (readonly string[])[]): HTMLElement {
  const units = outletUnits(looks[0]!.reading);
  const spans = looks.map(({ reading }) => PRODUCTS.map((kind) => ({ kind, span: spanOf(reading, kind) })));
  const most = Math.max(1, ...spans.flat().map(({ span }) => span?.toMm ?? 0));
  const frame = frameOf(looks.length, 320);
  const y = (mm: number) => frame.y(mm / most);
  const stepMm = niceStep(most / 7);
  const ticks = Array.from({ length: Math.floor(most / stepMm) + 1 }, (_, i) => i * stepMm);
  const bars = spans.flatMap((all, i) =>
    all.flatMap(({ kind, span }) => {
      if (!span) return [];
      const [from, to] = [y(span.fromMm), y(span.toMm)];
      return [
        bar(frame.x(i), from, to - from, kind),
        whisker(frame.x(i) - 6, y, span.fromMm, span.fromErrorMm),
        whisker(frame.x(i) + 6, y, span.toMm, span.toErrorMm),
      ];
    }),
  );
  const words = PRODUCTS.map((kind) => trackWords(looks, kind));
  const caption = say("history.edges", { unit: units.scaleUnit });
  const drawing = plot(frame, words.join(" "), [
    ...ticks.flatMap((mm) => axisLine(frame, y(mm), units.scale(mm))),
    ...bars,
    ...marks(frame, looks, changes),
  ]);
  return figure(caption, words, drawing, keys(PRODUCTS));
}

function coverPlot(looks: readonly Look[], changes: readonly (readonly string[])[]): HTMLElement {
  const frame = frameOf(looks.length, 140);
  const bars = looks.flatMap(({ reading }, i) => {
    let below = 0;
    return COVERS.flatMap((kind) => {
      const share = coverOf(reading, kind);
      if (!share) return [];
      const top = frame.y(below);
      below += share;
      return [bar(frame.x(i), top, frame.y(below) - top, kind)];
    });
  });
  const [first, last] = [looks[0]!, looks.at(-1)!];
  const words = COVERS.map((kind) => {
    const [was, is] = [first, last].map(({ reading }) => percent(coverOf(reading, kind) ?? 0));
    return say("history.cover.track", { name: say(`class.${kind}`), from: was!, to: is! });
  }).join("; ");
  const drawing = plot(frame, words, [
    ...[0, 0.5, 1].flatMap((share) => axisLine(frame, frame.y(share), percent(share))),
    ...bars,
    ...marks(frame, looks, changes),
  ]);
  return figure(say("history.cover"), [words], drawing, keys(COVERS));
}

const plot = ({ width, height }: Frame, words: string, drawn: readonly SVGElement[]) =>
  svgEl(
    "svg",
    { width, height, viewBox: `0 0 ${width} ${height}`, role: "img", "aria-label": words },
    hatches(),
    ...drawn,
  );

const axisLine = ({ width }: Frame, y: number, words: string) => [
  svgEl("line", { x1: LEFT, x2: width - RIGHT, y1: y, y2: y, class: "history-line" }),
  svgEl("text", { x: LEFT - 6, y: y + 4, class: "history-scale" }, words),
];

/** Numbers of the photos at the foot; a dashed line with its number where something was changed before one. */
function marks(frame: Frame, looks: readonly Look[], changes: readonly (readonly string[])[]): SVGElement[] {
  let told = 0;
  return looks.flatMap((_, i) => {
    const name = svgEl("text", { x: frame.x(i), y: frame.height - 10, class: "history-photo" }, number(i + 1));
    if (changes[i]!.length === 0) return [name];
    const x = frame.x(i) - frame.step / 2;
    told += 1;
    return [
      name,
      svgEl("line", { x1: x, x2: x, y1: TOP - 6, y2: frame.height - BOTTOM, class: "history-change" }),
      svgEl("circle", { cx: x, cy: TOP - 18, r: 12, class: "history-change-mark" }),
      svgEl("text", { x, y: TOP - 13, class: "history-change-number" }, changeLetter(told)),
    ];
  });
}
/** A, B, … Z, AA: photos have numbers, changes letters. @param nth  From 1. */
export function changeLetter(nth: number): string {
  const letter = String.fromCharCode(65 + ((nth - 1) % 26));
  return nth > 26 ? changeLetter(Math.floor((nth - 1) / 26)) + letter : letter;
}

type Kind = (typeof COVERS)[number];
const bar = (x: number, top: number, height: number, kind: Kind) => {
  const place = { x: x - BAR / 2, y: top, width: BAR, height: Math.max(0.5, height) };
  return svgEl(
    "g",
    {},
    svgEl("rect", { ...place, class: `history-bar history-${kind}` }),
    svgEl("rect", { ...place, fill: `url(#history-${kind})` }),
  );
};
function whisker(x: number, y: (mm: number) => number, mm: number, errorMm: number | null): SVGElement {
  const [top, foot] = [y(mm - (errorMm ?? 0)), y(mm + (errorMm ?? 0))];
  const d = errorMm === null ? "" : `M${x} ${top}V${foot}M${x - 4} ${top}h8M${x - 4} ${foot}h8`;
  return svgEl(
    "g",
    {},
    svgEl("path", { d, class: "history-error-ground" }),
    svgEl("path", { d, class: "history-error" }),
  );
}

/** One hatch a class, so that colour alone need not tell them apart. */
function hatches(): SVGElement {
  const lines = (kind: Kind, turn: number, colour: string, step: number) =>
    svgEl(
      "pattern",
      {
        id: `history-${kind}`,
        width: step,
        height: step,
        patternUnits: "userSpaceOnUse",
        patternTransform: `rotate(${turn})`,
      },
      svgEl("rect", { x: 0, y: 0, width: 1.5, height: step, fill: colour }),
    );
  const dots = svgEl(
    "pattern",
    { id: "history-dry", width: 6, height: 6, patternUnits: "userSpaceOnUse" },
    svgEl("circle", { cx: 3, cy: 3, r: 1.3, fill: "#ffffff" }),
  );
  return svgEl(
    "defs",
    {},
    lines("dense", 45, "#ffffff", 5),
    lines("middling", -45, "#000000", 7),
    lines("light", 0, "#00252e", 8),
    dots,
  );
}

const keys = (kinds: readonly Kind[]) =>
  el(
    "ul",
    { class: "flat-legend" },
    ...kinds.map((kind) => {
      const place = { x: 1, y: 1, width: 34, height: 20 };
      const drawn = [
        svgEl("rect", { ...place, class: `history-bar history-${kind}` }),
        svgEl("rect", { ...place, fill: `url(#history-${kind})` }),
      ];
      return legendLine(drawn, say(`class.${kind}`));
    }),
  );

/** 1, 2 or 5 times a power of ten, near to `wanted`. */
function niceStep(wanted: number): number {
  const power = 10 ** Math.floor(Math.log10(wanted));
  return power * ([1, 2, 5].find((n) => n * power >= wanted) ?? 10);
}
