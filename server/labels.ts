import type { SamplingAim, SamplingPlans } from "../vision/contract/index.ts";
import { streamName, weightUp } from "../vision/telling/index.ts";
import { safe } from "./jobs/report-page.ts";
import { type Language, speechIn } from "./speech.ts";

/** One bag or bottle. */
export interface Label {
  readonly run: string;
  readonly stream: string;
  readonly cut: number;
  readonly cuts: number;
  readonly grams: number;
}

/** Three in a row, eight rows, on A4. */
const [ACROSS, WIDTH_MM, HEIGHT_MM] = [3, 64, 34];

/** A label for each cut of each stream of a plan. */
export const labelsOf = ({ run }: SamplingAim, { plans }: SamplingPlans): Label[] =>
  plans.flatMap(({ stream, cuts, gramsPerCut }) =>
    Array.from({ length: cuts }, (_, i) => ({ run, stream, cut: i + 1, cuts, grams: gramsPerCut })),
  );

/** A page to print: a label for each cut, with room for what is written by hand. */
export function labelPage(labels: readonly Label[], speech: Language = speechIn("en")): string {
  const { say, code } = speech;
  const blank = (key: string, length: number) => `${safe(say(key))} ${"_".repeat(length)}`;
  const cells = labels.map(({ run, stream, cut, cuts, grams }) => {
    const lines = [
      `<b>${safe(streamName(speech, stream))}</b> ${safe(say("label.cut", { cut, cuts, grams: weightUp(speech, grams) }))}`,
      safe(run),
      blank("label.when", 16),
      `${blank("label.seconds", 6)} ${blank("label.wet", 6)} ${blank("label.dry", 6)}`,
      blank("rep.who", 16),
    ];
    return `<li>${lines.join("<br>")}</li>`;
  });
  return `<!doctype html>
<html lang="${code}">
<head>
<meta charset="utf-8">
<title>${safe(say("label.title"))}</title>
<style>
@page { size: A4; margin: 8mm }
body { margin: 0; font: 9pt/1.45 sans-serif }
ul { display: grid; grid-template-columns: repeat(${ACROSS}, ${WIDTH_MM}mm); margin: 0; padding: 0; list-style: none }
li { box-sizing: border-box; height: ${HEIGHT_MM}mm; padding: 2mm; border: 0.2mm dashed #777; break-inside: avoid; overflow: hidden }
</style>
</head>
<body><ul>
${cells.join("\n")}
</ul></body>
</html>
`;
}
