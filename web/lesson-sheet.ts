import { DECK_FAULTS, type Lesson, Product, type ShownReference } from "../vision/contract/index.ts";
import { onCanvas, pictureOf } from "./drawn-picture.ts";
import { onPaper } from "./paper.ts";
import type { SheetLines } from "./report-sheet.ts";
import { faultName, faultRemedy } from "./review-words.ts";
import { currentLanguage, number, safetyLines, say } from "./words.ts";

/** A lesson on paper, for a place without screens: decks with what to fill in, and the answers on pages of their own. */

export interface LessonSheet {
  /** BCP 47. */
  readonly language: string;
  readonly title: string;
  /** Where one writes one's name, and what to do. */
  readonly who: string;
  readonly how: string;
  readonly decks: readonly SheetDeck[];
  readonly answersTitle: string;
  /** What the colours of the bands' pictures mean. */
  readonly colours: string;
  readonly safety: SheetLines;
}
export interface SheetDeck {
  readonly title: string;
  /** JPEG, with a ruler along the outlet. */
  readonly photo: Blob;
  readonly faultTitle: string;
  readonly faults: readonly string[];
  /** To be filled in: a heading row, then a row for each band. */
  readonly table: readonly (readonly string[])[];
  /** How long the ruler is. */
  readonly outlet: string;
  readonly toWrite: readonly string[];
  /** JPEG; null where nobody marked the areas. */
  readonly bands: Blob | null;
  readonly answer: readonly string[];
}

/** Photos are printed small. */
const PHOTO_PX = 1100;
const TICK_MM = 100;
const NUMBER_MM = 200;
/** Two numbers stand no nearer than this share of the photo's width. */
const APART = 0.06;

/** @returns PDF. @throws {Trouble} */
export async function printLesson(
  { name, note }: Pick<Lesson, "name" | "note">,
  references: readonly ShownReference[],
): Promise<Blob> {
  const decks = await Promise.all(references.map((one, i) => deckOf(one, i + 1, references.length)));
  const sheet: LessonSheet = {
    language: currentLanguage(),
    title: name,
    who: say("lesson.sheetWho"),
    how: [note, say("lesson.sheetHow")].filter(Boolean).join(" "),
    decks,
    answersTitle: say("lesson.answers", { name }),
    colours: say("gallery.colours"),
    safety: { title: say("safety.title"), lines: safetyLines() },
  };
  const pdf = await onPaper("writeLesson", sheet, new AbortController().signal);
  return new Blob([pdf], { type: "application/pdf" });
}

async function deckOf(reference: ShownReference, n: number, count: number): Promise<SheetDeck> {
  const { fault, edges, note, title, basis, authors, licence, deck, outletInPhoto } = reference;
  const hasRuler = outletInPhoto.length > 1;
  const from = say("numbers.from", { unit: "mm" });
  const to = say("numbers.to", { unit: "mm" });
  const edgeLines = Product.options.flatMap((kind) => {
    const own = edges.filter((edge) => edge.kind === kind);
    const at = ({ edge, atMm }: (typeof own)[number]) =>
      `${say(edge === "from" ? "lesson.from" : "lesson.to", { band: say(`class.${kind}`) })} ${number(Math.round(atMm))}\u00a0mm`;
    return own.length > 0 ? [own.map(at).join("; ")] : [];
  });
  return {
    title: say("lesson.task", { n, count }),
    photo: await ruledPhoto(reference),
    faultTitle: say("lesson.fault"),
    faults: DECK_FAULTS.map(faultName),
    table: hasRuler
      ? [[say("numbers.band"), from, to], ...Product.options.map((kind) => [say(`class.${kind}`), "", ""])]
      : [],
    outlet: say("lesson.sheetOutlet", { length: number(deck.outletMm) }),
    toWrite: [
      `${say("run.control.splitter")}: __________ mm, __________ mm`,
      `${say("lesson.change")} ______________________________`,
    ],
    bands: await bandsPicture(reference),
    answer: [
      `${faultName(fault)}. ${faultRemedy(fault)}`,
      ...edgeLines,
      note || title,
      ...basis.map(({ source }) => source),
      say("gallery.licence", { authors, licence }),
    ],
  };
}

async function fetched(url: string): Promise<HTMLImageElement> {
  return pictureOf(await (await fetch(url)).blob());
}

/** The photo with mm along the outlet. */
async function ruledPhoto({ photoUrl, outletInPhoto: path }: ShownReference): Promise<Blob> {
  const photo = await fetched(photoUrl);
  const scale = Math.min(1, PHOTO_PX / Math.max(photo.naturalWidth, photo.naturalHeight));
  const [width, height] = [photo.naturalWidth * scale, photo.naturalHeight * scale].map(Math.round) as [number, number];
  return onCanvas(width, height, (pen) => {
    pen.drawImage(photo, 0, 0, width, height);
    const end = path.at(-1)?.[0] ?? 0;
    pen.font = `bold ${Math.round(width / 45)}px sans-serif`;
    pen.textAlign = "center";
    pen.textBaseline = "middle";
    let last: readonly [number, number] | null = null;
    for (let mm = 0; path.length > 1 && mm <= end; mm += TICK_MM) {
      const after = Math.max(
        1,
        path.findIndex(([at]) => at >= mm),
      );
      const [a, b] = [path[after - 1]!, path[after]!];
      const t = b[0] > a[0] ? (mm - a[0]) / (b[0] - a[0]) : 0;
      const [x, y] = [width * (a[1] + t * (b[1] - a[1])), height * (a[2] + t * (b[2] - a[2]))];
      const isLong = mm % NUMBER_MM === 0;
      pen.fillStyle = "#ffffff";
      pen.strokeStyle = "#101418";
      pen.lineWidth = 2;
      pen.beginPath();
      pen.arc(x, y, isLong ? 6 : 3.5, 0, 2 * Math.PI);
      pen.fill();
      pen.stroke();
      if (!isLong || (last && Math.hypot(x - last[0], y - last[1]) < width * APART)) continue;
      last = [x, y];
      pen.lineWidth = 5;
      pen.strokeText(number(mm), x, y + width / 28);
      pen.fillText(number(mm), x, y + width / 28);
    }
  });
}

async function bandsPicture({ classesUrl }: ShownReference): Promise<Blob | null> {
  if (!classesUrl) return null;
  const bands = await fetched(classesUrl);
  return onCanvas(bands.naturalWidth, bands.naturalHeight, (pen) => pen.drawImage(bands, 0, 0));
}
