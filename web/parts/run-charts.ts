import type { Drift, DriftChart } from "../../vision/contract/index.ts";
import { causeWords, chartWords, eventTitle, meaningOf, movedWords, tell } from "../../vision/telling/index.ts";
import { el, fill, svgEl } from "../element.ts";
import { measured, type Said, timeOf, watchedName } from "../run-words.ts";
import { table } from "../table.ts";
import { inEnglish, number, say, speech } from "../words.ts";

const [WIDTH, HEIGHT] = [360, 150];
const [LEFT, RIGHT, TOP, BOTTOM] = [44, 8, 14, 8];

/** How the bands moved from photo to photo: alarms with their likely cause, and one chart a quantity, in words too. */
export function runCharts() {
  const element = el("div", { class: "run-charts" });
  /** @param why  Why there are none, in words. */
  const update = (drift: Drift | null, why: Said) => {
    if (!drift) return fill(element, el("p", why.foreign ? inEnglish() : {}, why.say));
    fill(
      element,
      ...eventsPart(drift),
      ...drift.charts.map((chart) => chartPart(chart, drift)),
      el("ul", { class: "hint-line" }, ...drift.notes.map((note) => el("li", {}, tell(speech, note)))),
    );
  };
  return { element, update };
}

function eventsPart({ events, photos, charts }: Drift): HTMLElement[] {
  if (events.length === 0) return [el("p", {}, say(charts.length > 0 ? "run.charts.quiet" : "run.charts.none"))];
  return events
    .toReversed()
    .map((event) =>
      el(
        "div",
        { class: "caution run-event" },
        el("h3", {}, eventTitle(speech, event, photos[event.since]?.at)),
        el("p", {}, movedWords(speech, event)),
        el("p", {}, meaningOf(speech, event)),
        el("p", {}, el("b", {}, causeWords(speech, event))),
      ),
    );
}

function chartPart(chart: DriftChart, drift: Drift): HTMLElement {
  const name = watchedName(chart.quantity);
  const words = chartWords(speech, chart);
  const rows = chart.values.flatMap((value, i) =>
    value === null ? [] : [[timeOf(drift.photos[i]?.at), measured(value, chart.errors[i] ?? null, chart.unit)]],
  );
  return el(
    "figure",
    { class: "run-chart" },
    el("figcaption", {}, el("b", {}, `${name}, ${chart.unit}`)),
    drawing(chart, words),
    el("p", { class: "hint-line" }, words),
    el("details", {}, el("summary", {}, say("run.charts.numbers")), table(name, [], rows)),
  );
}

/** Values with errors, their level and the limits of one photo, alarms as triangles. */
function drawing({ values, errors, level, sd, limits, alarms }: DriftChart, words: string): SVGSVGElement {
  const told = values.flatMap((value, i) => (value === null ? [] : [{ i, value, error: errors[i] ?? 0 }]));
  const band = level !== null && sd !== null ? [level - limits.single * sd, level + limits.single * sd] : [];
  const all = [...told.flatMap(({ value, error }) => [value - error, value + error]), ...band];
  const [least, most] = [Math.min(...all), Math.max(...all)];
  const room = Math.max(1e-6, most - least) * 0.05;
  const x = (i: number) => LEFT + ((WIDTH - LEFT - RIGHT) * i) / Math.max(1, values.length - 1);
  const y = (value: number) => TOP + ((HEIGHT - TOP - BOTTOM) * (most + room - value)) / (most - least + 2 * room);
  const line = (value: number, name: string) => [
    svgEl("line", { x1: LEFT, x2: WIDTH - RIGHT, y1: y(value), y2: y(value), class: name }),
    svgEl(
      "text",
      { x: LEFT - 4, y: y(value) + 4, class: "run-scale" },
      number(value, 0, Math.abs(value) < 100 ? 1 : 0),
    ),
  ];
  return svgEl(
    "svg",
    { viewBox: `0 0 ${WIDTH} ${HEIGHT}`, role: "img", "aria-label": words },
    ...(level === null ? [] : line(level, "run-level")),
    ...band.flatMap((value) => line(value, "run-limit")),
    svgEl("polyline", { points: told.map(({ i, value }) => `${x(i)},${y(value)}`).join(" "), class: "run-values" }),
    ...told.flatMap(({ i, value, error }) => [
      svgEl("line", { x1: x(i), x2: x(i), y1: y(value - error), y2: y(value + error), class: "run-error" }),
      svgEl("circle", { cx: x(i), cy: y(value), r: 2.5, class: "run-point" }),
    ]),
    ...alarms.map(({ at }) => svgEl("path", { d: `M ${x(at) - 6} 1 h 12 l -6 11 Z`, class: "run-alarm" })),
  );
}
