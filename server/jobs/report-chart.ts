import type { Drift, DriftChart } from "../../vision/contract/index.ts";
import { chartWords, type Speech } from "../../vision/telling/index.ts";
import { type Block, moment, short } from "./report-blocks.ts";
import { safe } from "./report-page.ts";

const [WIDTH, HEIGHT] = [600, 150];
const [LEFT, RIGHT, TOP, BOTTOM] = [56, 8, 10, 22];

/** One quantity from photo to photo: values with their errors, its level and the limits of single values, alarms as triangles. */
export function chartBlock(speech: Speech, chart: DriftChart, { photos }: Pick<Drift, "photos">): Block {
  const { values, errors, level, sd, limits, alarms } = chart;
  const told = values.flatMap((value, i) => (value === null ? [] : [{ i, value, error: errors[i] ?? 0 }]));
  const band = level !== null && sd !== null ? [level - limits.single * sd, level + limits.single * sd] : [];
  const all = [...told.flatMap(({ value, error }) => [value - error, value + error]), ...band];
  const [least, most] = [Math.min(...all), Math.max(...all)];
  const room = Math.max(1e-6, most - least) * 0.05;
  const x = (i: number) => LEFT + ((WIDTH - LEFT - RIGHT) * i) / Math.max(1, values.length - 1);
  const y = (value: number) => TOP + ((HEIGHT - TOP - BOTTOM) * (most + room - value)) / (most - least + 2 * room);
  const line = (value: number, dashes: string) =>
    `<line x1="${LEFT}" x2="${WIDTH - RIGHT}" y1="${at(y(value))}" y2="${at(y(value))}" stroke="#555555" stroke-dasharray="${dashes}"/>`;
  const label = (value: number) =>
    `<text x="${LEFT - 6}" y="${at(y(value) + 3)}" font-size="9" text-anchor="end">${short(value)}</text>`;
  const svg = [
    `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${WIDTH} ${HEIGHT}" width="${WIDTH}" height="${HEIGHT}" font-family="DejaVu">`,
    `<rect x="${LEFT}" y="${TOP}" width="${WIDTH - LEFT - RIGHT}" height="${HEIGHT - TOP - BOTTOM}" fill="none" stroke="#999999"/>`,
    ...(level !== null ? [line(level, "none"), label(level)] : []),
    ...band.map((value) => line(value, "4 3") + label(value)),
    `<polyline fill="none" stroke="#0a4aa8" points="${told.map(({ i, value }) => `${at(x(i))},${at(y(value))}`).join(" ")}"/>`,
    ...told.map(
      ({ i, value, error }) =>
        `<line x1="${at(x(i))}" x2="${at(x(i))}" y1="${at(y(value - error))}" y2="${at(y(value + error))}" stroke="#0a4aa8"/><circle cx="${at(x(i))}" cy="${at(y(value))}" r="2" fill="#0a4aa8"/>`,
    ),
    ...alarms.map(({ at: i }) => {
      const cx = x(i);
      return `<path d="M ${at(cx - 5)} ${TOP + 1} L ${at(cx + 5)} ${TOP + 1} L ${at(cx)} ${TOP + 10} Z" fill="#a00020"/>`;
    }),
    `<text x="${LEFT}" y="${HEIGHT - 8}" font-size="9">${safe(moment(photos[0]?.at ?? ""))}</text>`,
    `<text x="${WIDTH - RIGHT}" y="${HEIGHT - 8}" font-size="9" text-anchor="end">${safe(moment(photos.at(-1)?.at ?? ""))}</text>`,
    "</svg>",
  ].join("");
  return { kind: "drawing", svg, alt: chartWords(speech, chart) };
}

const at = (v: number) => v.toFixed(1);
