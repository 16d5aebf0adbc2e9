import type { Reading } from "./contract/index.ts";
import { CLASS_LOOKS, DRY_COLOUR, hatchPatterns } from "./drawing/class-looks.ts";
import { drawLegend } from "./drawing/legend.ts";
import { drawEdges, drawRuler, type OutletScene, outletWords } from "./drawing/outlet-marks.ts";
import { ENGLISH, type OverlayWords } from "./drawing/overlay-words.ts";
import { type PicturePoint, type Size, type ToPicture, toPicture } from "./drawing/picture-frame.ts";
import { Placer, textAt } from "./drawing/placing.ts";
import { drawSplitters, drawSplitterWords, splitterPlans } from "./drawing/splitter-marks.ts";
import { doubleLine, escapeXml, FONT, haloText, INK, PAPER, pathData, textWidthPx } from "./drawing/svg.ts";
import { type BlockMap, blockMap, roomyPlaces, traceLoops } from "./drawing/trace.ts";
import type { Classes, Deck } from "./stages.ts";

/** Height of the words as a share of the picture's width: still readable 400 px wide on a phone. */
const FONT_SHARE = 0.027;

/**
 * What was read, drawn to be laid on the photo: a transparent SVG without the photo in it.
 *
 * @param analysis  A reading, its deck, and its classes; without classes the bands are drawn from their centre lines.
 * @param size  Pixels of the picture it is laid on: the upright photo, scaled.
 * @param words  What is written on it.
 * @returns SVG 1.1, its view box `0 0 widthPx heightPx`. For an unusable photo: one line of words.
 */
export function overlaySvg(
  analysis: { reading: Reading; deck: Deck; classes: Classes | null },
  size: Size,
  words: OverlayWords = ENGLISH,
): string {
  const { reading, deck, classes } = analysis;
  const fontPx = Math.max(size.widthPx, size.heightPx * 0.75) * FONT_SHARE;
  const to = toPicture(reading, size);
  if (!to) return wrap(size, fontPx, words.unreadable, unusable(size, fontPx, words));

  const outline = bentOutline(deck, to);
  const placer = new Placer(size, outline);
  const scene: OutletScene = { reading, deck, to, size, fontPx, placer };
  const map = classes ? blockMap(classes, deck) : null;
  // words are placed most important first; what is drawn later lies on top
  const plans = splitterPlans(scene, words);
  const splitters = drawSplitters(scene, plans);
  const names = map ? classNames(map, scene, words) : "";
  const dry = dryPatches(scene, words);
  const ruler = drawRuler(scene);
  const splitterWords = drawSplitterWords(scene, plans);
  const legend = drawLegend({
    size,
    fontPx,
    placer,
    words,
    rulerWords: outletWords(scene).unit === "mm" ? words.rulerMm : words.rulerPercent,
    shows: {
      unseen: (reading.cover?.unseen ?? 0) > 0.002,
      dry: reading.dryPatches.length > 0,
      rills: reading.rills.length > 0,
      edges: reading.bands.some((band) => band.outlet.some((o) => o.fromErrorMm !== null || o.toErrorMm !== null)),
      splitters: reading.splitters.length > 0,
      moves: plans.some((plan) => plan.nextMm !== null),
    },
  });
  const drawing = [
    map ? areas(map, to, fontPx) : centreLines(scene),
    rills(scene),
    `<g id="outline">${doubleLine(pathData(outline, true), fontPx * 0.06, PAPER, INK)}</g>`,
    dry,
    drawEdges(scene),
    ruler,
    splitters,
    names,
    splitterWords,
    legend,
  ];
  return wrap(size, fontPx, `${words.bandsOn} ${deck.file.name}`, drawing.join("\n"));
}

function wrap({ widthPx, heightPx }: Size, fontPx: number, title: string, drawing: string): string {
  return (
    `<svg xmlns="http://www.w3.org/2000/svg" width="${widthPx}" height="${heightPx}" viewBox="0 0 ${widthPx} ${heightPx}" font-family="${FONT}" font-weight="bold">` +
    `<title>${escapeXml(title)}</title><defs>${hatchPatterns(fontPx * 0.62)}</defs>\n${drawing}\n</svg>`
  );
}

function unusable(size: Size, fontPx: number, { unreadable: text }: OverlayWords): string {
  const fitted = Math.min(fontPx * 1.4, (size.widthPx * 0.9) / textWidthPx(text, 1));
  return haloText(text, [size.widthPx / 2, size.heightPx / 2], fitted, PAPER, INK);
}

/** The outline with points between its corners, so that a lens's bulge shows. */
function bentOutline(deck: Deck, to: ToPicture): PicturePoint[] {
  return deck.outline.flatMap((from, index) => {
    const end = deck.outline[(index + 1) % deck.outline.length]!;
    return Array.from({ length: 8 }, (_, i) =>
      to(from.x + ((end.x - from.x) * i) / 8, from.y + ((end.y - from.y) * i) / 8),
    );
  });
}

/** Bands as colour and hatch with a double outline; what the photo does not show as grey dots; bare deck untouched. */
function areas(map: BlockMap, to: ToPicture, fontPx: number): string {
  const shape = (kind: number) =>
    traceLoops(map, kind)
      .map((loop) =>
        pathData(
          loop.points.map(([x, y]) => to(x, y)),
          true,
        ),
      )
      .join("");
  const bands = CLASS_LOOKS.map((look) => {
    const d = shape(look.number);
    if (!d) return "";
    const edge = `fill="none" stroke-linejoin="round"`;
    return (
      `<g id="area-${look.kind}"><path d="${d}" fill="${look.colour}" fill-opacity="${look.fillOpacity}" fill-rule="evenodd"/>` +
      `<path d="${d}" fill="url(#db-${look.kind})" fill-rule="evenodd" fill-opacity="0.8"/>` +
      `<path d="${d}" ${edge} stroke="${look.kind === "dense" ? PAPER : INK}" stroke-opacity="0.8" stroke-width="${(fontPx * 0.2).toFixed(1)}"/>` +
      `<path d="${d}" ${edge} stroke="${look.colour}" stroke-width="${(fontPx * 0.1).toFixed(1)}"/></g>`
    );
  });
  const unseen = shape(0);
  const grey = unseen
    ? `<g id="area-unseen"><path d="${unseen}" fill="#4a4f55" fill-opacity="0.5" fill-rule="evenodd"/><path d="${unseen}" fill="url(#db-unseen)" fill-rule="evenodd"/></g>`
    : "";
  return bands.join("") + grey;
}

/** Without classes: each band's centre line, as broad as the band on average. */
function centreLines({ reading, to, fontPx }: OutletScene): string {
  const lines = reading.bands
    .filter((band) => band.centreLine.length > 1)
    .map((band) => {
      const look = CLASS_LOOKS.find((l) => l.kind === band.kind)!;
      return doubleLine(
        pathData(
          band.centreLine.map(([x, y]) => to(x, y)),
          false,
        ),
        fontPx * 0.35,
        look.colour,
        INK,
      );
    });
  return `<g id="centre-lines">${lines.join("")}</g>`;
}

/** Each class's name where it has most room and lies on the deck. */
function classNames(map: BlockMap, { to, fontPx, placer }: OutletScene, words: OverlayWords): string {
  const names = CLASS_LOOKS.map((look) => {
    const word = words[look.kind].toLocaleUpperCase(words.language);
    const places = roomyPlaces(map, look.number).filter((place) => place.roomMm >= 15);
    const size = fontPx * 1.1;
    const points = places.map((place) => to(place.at[0], place.at[1]));
    const [width, height] = [textWidthPx(word, size) + fontPx * 1.4, size];
    const isOnDeck = ([x, y]: PicturePoint) =>
      placer.deckPx({ x: x - width / 2, y: y - height / 2, width, height }) > width * height * 0.99;
    const box = placer.placeFree(word, size, firstOr(points, isOnDeck));
    return box ? haloText(word, textAt(box), size, look.words, look.halo) : "";
  });
  return `<g id="names">${names.join("")}</g>`;
}

/** Those that fit, looked at one by one as they are wanted; where none does, all. */
function* firstOr<T>(all: readonly T[], fits: (one: T) => boolean): Generator<T> {
  let none = true;
  for (const one of all) {
    if (!fits(one)) continue;
    none = false;
    yield one;
  }
  if (none) yield* all;
}

function dryPatches({ reading, to, fontPx, placer }: OutletScene, words: OverlayWords): string {
  const word = words.dry.toLocaleUpperCase(words.language);
  const patches = reading.dryPatches.map((patch) => {
    const d = pathData(
      patch.outline.map(([x, y]) => to(x, y)),
      true,
    );
    const [x, y] = to(patch.centre[0], patch.centre[1]);
    const box = placer.placeFree(word, fontPx, [
      [x, y],
      [x, y - fontPx * 1.3],
      [x, y + fontPx * 1.3],
    ]);
    return (
      doubleLine(d, fontPx * 0.22, DRY_COLOUR, PAPER) +
      (box ? haloText(word, textAt(box), fontPx, PAPER, DRY_COLOUR) : "")
    );
  });
  return `<g id="dry">${patches.join("")}</g>`;
}

function rills({ reading, to, fontPx }: OutletScene): string {
  const lines = reading.rills.map((rill) =>
    doubleLine(
      pathData(
        rill.path.map(([x, y]) => to(x, y)),
        false,
      ),
      fontPx * 0.16,
      "#00b7ff",
      INK,
    ),
  );
  return `<g id="rills">${lines.join("")}</g>`;
}
