import { CLASS_LOOKS, DRY_COLOUR } from "./class-looks.ts";
import type { OverlayWords } from "./overlay-words.ts";
import type { Size } from "./picture-frame.ts";
import type { Box, Placer } from "./placing.ts";
import { pointerHead, SPLITTER_COLOUR } from "./splitter-marks.ts";
import { doubleLine, escapeXml, INK, PAPER, textWidthPx } from "./svg.ts";

/** One line of the legend: words and how its sample is drawn in a box of this place. */
interface Entry {
  readonly words: string;
  readonly sample: (box: Box) => string;
}
export interface LegendNeeds {
  readonly size: Size;
  readonly fontPx: number;
  readonly placer: Placer;
  readonly words: OverlayWords;
  readonly rulerWords: string;
  readonly shows: {
    readonly unseen: boolean;
    readonly dry: boolean;
    readonly rills: boolean;
    readonly moves: boolean;
    readonly edges: boolean;
    readonly splitters: boolean;
  };
}

/** A dark card that explains every mark in the picture, in the corner where it hides least. */
export function drawLegend(needs: LegendNeeds): string {
  const fontPx = needs.fontPx * 0.9;
  const entries = legendEntries(needs.shows, needs.words);
  const rowPx = fontPx * 1.4;
  const shapes = [1, 2, 3, 4].map((columns) => Math.ceil(entries.length / columns));
  const candidates = shapes.flatMap((rows) => cards(needs, entries, rows, rowPx, fontPx));
  const card = candidates.reduce((best, other) => (other.cost < best.cost ? other : best));
  const drawn = entries.map((entry, index) => {
    const x = card.box.x + card.columnsPx[Math.floor(index / card.rows)]!;
    const y = card.box.y + fontPx * 0.5 + (index % card.rows) * rowPx;
    const sample = entry.sample({ x, y: y + fontPx * 0.1, width: fontPx * 1.8, height: fontPx * 1.1 });
    return `${sample}<text x="${f(x + fontPx * 2.2)}" y="${f(y + fontPx)}" font-size="${f(fontPx)}" fill="${PAPER}">${escapeXml(entry.words)}</text>`;
  });
  const footY = card.box.y + card.box.height - fontPx * 0.55;
  return (
    `<g id="legend"><rect x="${f(card.box.x)}" y="${f(card.box.y)}" width="${f(card.box.width)}" height="${f(card.box.height)}" rx="${f(fontPx * 0.4)}" fill="${INK}" fill-opacity="0.86" stroke="${PAPER}" stroke-width="${f(fontPx * 0.08)}"/>` +
    `${drawn.join("")}<text x="${f(card.box.x + fontPx * 0.6)}" y="${f(footY)}" font-size="${f(fontPx * 0.9)}" fill="${SPLITTER_COLOUR}">${escapeXml(needs.rulerWords)}</text></g>`
  );
}

const f = (n: number) => n.toFixed(1);
/** Small letters take less room than `textWidthPx` allows for capitals. */
const wordsPx = (words: string, fontPx: number) => textWidthPx(words, fontPx) * 0.97;

/** The card with its rows filled this way, in each corner, with a cost: how much deck and writing it hides. */
function cards(needs: LegendNeeds, entries: readonly Entry[], rows: number, rowPx: number, fontPx: number) {
  const columnsPx: number[] = [];
  let right = fontPx * 0.6;
  for (let first = 0; first < entries.length; first += rows) {
    columnsPx.push(right);
    right += fontPx * 2.8 + Math.max(...entries.slice(first, first + rows).map((e) => wordsPx(e.words, fontPx)));
  }
  const width = Math.max(right, wordsPx(needs.rulerWords, fontPx * 0.9) + fontPx * 1.2);
  const height = (rows + 1) * rowPx + fontPx * 0.7;
  const { widthPx, heightPx } = needs.size;
  return [0, widthPx].flatMap((x) =>
    [heightPx, 0].map((y) => {
      const box = needs.placer.within({ x: x === 0 ? 0 : x - width, y: y === 0 ? 0 : y - height, width, height });
      const hides = needs.placer.deckPx(box) + needs.placer.takenPx(box) * 4;
      const spills = Math.max(0, width - widthPx) + Math.max(0, height - heightPx);
      return { box, rows, columnsPx, cost: hides + spills * widthPx + width * height * 0.1 };
    }),
  );
}

function legendEntries(shows: LegendNeeds["shows"], words: OverlayWords): Entry[] {
  const swatch =
    (fill: string, hatch: string | null, opacity: number) =>
    ({ x, y, width, height }: Box) => {
      const place = `x="${f(x)}" y="${f(y)}" width="${f(width)}" height="${f(height)}"`;
      const under = `<rect ${place} fill="#7d8288"/><rect ${place} fill="${fill}" fill-opacity="${opacity}"/>`;
      return `${under}${hatch ? `<rect ${place} fill="url(#${hatch})"/>` : ""}<rect ${place} fill="none" stroke="${PAPER}" stroke-width="${f(height * 0.08)}"/>`;
    };
  const line =
    (colour: string, below: string, extra = "") =>
    ({ x, y, width, height }: Box) =>
      doubleLine(
        `M${f(x)} ${f(y + height / 2)}L${f(x + width)} ${f(y + height / 2)}`,
        height * 0.2,
        colour,
        below,
        extra,
      );
  const pointer =
    (next: boolean) =>
    ({ x, y, width, height }: Box) =>
      pointerHead(
        [
          [x + width / 2, y],
          [x + width * 0.76, y + height],
          [x + width * 0.24, y + height],
        ],
        height * 0.1,
        next,
      );
  const edge = ({ x, y, width, height }: Box) =>
    doubleLine(
      `M${f(x)} ${f(y + height / 2)}L${f(x + width)} ${f(y + height / 2)}`,
      height * 0.25,
      CLASS_LOOKS[1]!.colour,
      INK,
    ) +
    `<rect x="${f(x + width * 0.38)}" y="${f(y)}" width="${f(width * 0.24)}" height="${f(height)}" fill="${PAPER}" stroke="${INK}" stroke-width="${f(height * 0.08)}"/>`;
  return [
    ...CLASS_LOOKS.map((l) => ({ words: words[l.kind], sample: swatch(l.colour, `db-${l.kind}`, l.fillOpacity) })),
    ...(shows.unseen ? [{ words: words.unseen, sample: swatch("#4a4f55", "db-unseen", 0.5) }] : []),
    ...(shows.dry ? [{ words: words.dryPatch, sample: line(DRY_COLOUR, PAPER) }] : []),
    ...(shows.rills ? [{ words: words.rill, sample: line("#00b7ff", INK) }] : []),
    ...(shows.edges ? [{ words: words.edge, sample: edge }] : []),
    ...(shows.splitters ? [{ words: words.splitterNow, sample: pointer(false) }] : []),
    ...(shows.moves ? [{ words: words.splitterNext, sample: pointer(true) }] : []),
  ];
}
