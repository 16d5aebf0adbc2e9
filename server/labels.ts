import { safe } from "./jobs/report-page.ts";

/** One bag or bottle. */
export interface Label {
  readonly run: string;
  readonly stream: string;
  readonly cut: number;
  readonly cuts: number;
  readonly grams: string;
}

/** Three in a row, eight rows, on A4. */
const [ACROSS, WIDTH_MM, HEIGHT_MM] = [3, 64, 34];

/** A page to print: a label for each cut, with room for what is written by hand. */
export function labelPage(labels: readonly Label[]): string {
  const cells = labels.map(
    ({ run, stream, cut, cuts, grams }) =>
      `<li><b>${safe(stream)}</b> cut ${cut} of ${cuts}, about ${safe(grams)}<br>${safe(run)}<br>date, time ________________<br>seconds ______ wet ______ dry ______<br>who ________________</li>`,
  );
  return `<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<title>Labels</title>
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
