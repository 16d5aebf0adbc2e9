import regular from "dejavu-fonts-ttf/ttf/DejaVuSansCondensed.ttf?url";
import bold from "dejavu-fonts-ttf/ttf/DejaVuSansCondensed-Bold.ttf?url";
import pdfMake from "pdfmake/build/pdfmake.min.js";
import type { Column, Content, TDocumentDefinitions } from "pdfmake/interfaces.js";
import type { LessonSheet, SheetDeck } from "./lesson-sheet.ts";
import type { NumberTable } from "./number-tables.ts";
import type { Sheet, SheetLines, SheetPicture } from "./report-sheet.ts";

/** The browser's only door to pdfmake: a sheet → one A4 page as PDF, a lesson → some. Runs in the paper worker. */

/** A4 within its margins, points. */
const PAGE_PT = { width: 531, margin: 32 };
/** Height of a picture, points; it shrinks faster than letters, which must stay legible. */
const PICTURE_PT = 225;
/** Letters, points, and how far everything may shrink until it fits one page. */
const LETTERS_PT = 8.6;
const SCALES = [1, 0.9, 0.81, 0.73, 0.66];

let ready: Promise<void> | null = null;
/** Fonts go along in the document, so that every language's letters are there without a network. */
function open(): Promise<void> {
  ready ??= (async () => {
    const base64 = async (url: string) => dataUrl(await (await fetch(url)).blob()).split(",")[1]!;
    pdfMake.addVirtualFileSystem({ "regular.ttf": await base64(regular), "bold.ttf": await base64(bold) });
    pdfMake.setFonts({ DejaVu: { normal: "regular.ttf", bold: "bold.ttf" } });
    pdfMake.setUrlAccessPolicy(() => false); // a report fetches nothing, whatever people typed
  })();
  return ready;
}

/** @returns PDF bytes; set in smaller letters until all of it stands on one page. */
export async function writePdf(sheet: Sheet): Promise<Uint8Array<ArrayBuffer>> {
  await open();
  const images = sheet.pictures.map(({ image }) => dataUrl(image));
  let bytes = new Uint8Array();
  for (const scale of SCALES) {
    let pages = 0;
    const document = pageOf(sheet, images, scale, (count) => {
      pages = count;
    });
    bytes = Uint8Array.from(await pdfMake.createPdf(document).getBuffer());
    if (pages === 1) return bytes;
  }
  return bytes;
}

const dataUrl = (blob: Blob) => new FileReaderSync().readAsDataURL(blob);

function pageOf(
  sheet: Sheet,
  images: readonly string[],
  scale: number,
  counted: (pages: number) => void,
): TDocumentDefinitions {
  const { margin } = PAGE_PT;
  const [left, right] = columns(sheet);
  return {
    info: { title: `${sheet.title}: ${sheet.about}`, creator: "deckbands", producer: "deckbands" },
    language: sheet.language,
    pageSize: "A4",
    pageMargins: [margin, 26, margin, 28],
    defaultStyle: { font: "DejaVu", fontSize: LETTERS_PT * scale, lineHeight: 1.12 },
    content: [
      { text: sheet.title, fontSize: 15 * scale, bold: true },
      { text: sheet.about, color: "#3b4650", margin: [0, 0, 0, 5] },
      next(sheet.next, scale),
      ...pictures(sheet.pictures, images, scale),
      {
        columns: [
          { width: "56%", stack: left },
          { width: "*", stack: right },
        ],
        columnGap: 14,
      },
      lines(sheet.safety, 0.88 * scale),
    ],
    footer: (page, pages) => {
      counted(pages);
      return { text: `deckbands · ${page} / ${pages}`, fontSize: 6.5, margin: [margin, 8, margin, 0] };
    },
  };
}

function next({ title, headline, lines: reasons, caution }: Sheet["next"], scale: number): Content {
  const stack: Content[] = [
    { text: title, color: "#3b4650" },
    { text: headline, fontSize: 12.5 * scale, bold: true, margin: [0, 0, 0, 2] },
    { ul: [...reasons] },
    ...caution.map((text): Content => ({ text: `⚠ ${text}`, bold: true, color: "#7a3d00", margin: [0, 2, 0, 0] })),
  ];
  return { table: { widths: ["*"], body: [[{ stack, margin: [4, 3, 4, 3] }]] }, margin: [0, 0, 0, 6] };
}

/** Side by side, as large as the page bears. */
function pictures(all: readonly SheetPicture[], images: readonly string[], scale: number): Content[] {
  if (all.length === 0) return [];
  const gap = 10;
  const width = (PAGE_PT.width - gap * (all.length - 1)) / all.length;
  return [
    {
      columns: all.map(({ caption }, i) => ({
        width,
        stack: [
          { image: images[i]!, fit: [width, PICTURE_PT * scale ** 1.5] },
          { text: caption, fontSize: 7 * scale },
        ],
      })),
      columnGap: gap,
      margin: [0, 0, 0, 6],
    },
  ];
}

/** Thin lines below each row, close together. */
const LINES = {
  hLineWidth: (i: number) => (i === 0 ? 0 : 0.5),
  vLineWidth: () => 0,
  hLineColor: () => "#75818c",
  paddingLeft: () => 0,
  paddingRight: () => 6,
  paddingTop: () => 0.8,
  paddingBottom: () => 0.4,
};

/** Tables with many columns at the left, the narrow ones beside them with the notes. */
function columns({ tables, notes }: Sheet): [Content[], Content[]] {
  const isWide = ({ heads }: NumberTable) => heads.length > 3;
  return [
    tables.filter(isWide).map(table),
    [...notes.map((note) => lines(note)), ...tables.filter((one) => !isWide(one)).map(table)],
  ];
}

function table({ caption, heads, rows }: NumberTable): Content {
  const lengths = heads.map((_, i) => Math.max(...rows.map((row) => row[i]!.length)));
  const longest = lengths.indexOf(Math.max(...lengths));
  return {
    unbreakable: true,
    stack: [
      { text: caption, bold: true },
      {
        table: {
          widths: heads.map((_, i) => (i === longest ? "*" : "auto")),
          body: [heads.map((text) => ({ text, color: "#3b4650" })), ...rows.map((row) => [...row])],
        },
        layout: LINES,
      },
    ],
    margin: [0, 0, 0, 5],
  };
}

const lines = ({ title, lines: all }: SheetLines, size?: number): Content => ({
  stack: [{ text: title, bold: true }, { ul: [...all] }],
  ...(size && { fontSize: LETTERS_PT * size }),
  margin: [0, 0, 0, 5],
});

// a lesson to fill in

/** A deck's photo, points high: two decks with what is to be filled in stand on one page. */
const LESSON_PHOTO_PT = 195;
const ANSWER_PICTURE_PT = 120;

/** @returns PDF bytes: two decks a page, then the answers from a new page on. */
export async function writeLesson(sheet: LessonSheet): Promise<Uint8Array<ArrayBuffer>> {
  await open();
  const { margin } = PAGE_PT;
  const document: TDocumentDefinitions = {
    info: { title: sheet.title, creator: "deckbands", producer: "deckbands" },
    language: sheet.language,
    pageSize: "A4",
    pageMargins: [margin, 26, margin, 28],
    defaultStyle: { font: "DejaVu", fontSize: LETTERS_PT, lineHeight: 1.15 },
    content: [
      { text: sheet.title, fontSize: 15, bold: true },
      { text: sheet.who, margin: [0, 8, 0, 6] },
      { text: sheet.how, margin: [0, 0, 0, 6] },
      ...sheet.decks.map(lessonDeck),
      { text: sheet.answersTitle, fontSize: 15, bold: true, pageBreak: "before" },
      { text: sheet.colours, color: "#3b4650", fontSize: 7.5, margin: [0, 0, 0, 6] },
      ...sheet.decks.map(lessonAnswer),
      lines(sheet.safety, 0.88),
    ],
    footer: (page, pages) => ({
      text: `deckbands · ${page} / ${pages}`,
      fontSize: 6.5,
      margin: [margin, 8, margin, 0],
    }),
  };
  return Uint8Array.from(await pdfMake.createPdf(document).getBuffer());
}

function lessonDeck({ title, photo, faultTitle, faults, table: rows, outlet, toWrite }: SheetDeck): Content {
  const third = Math.ceil(faults.length / 3);
  const fields: Content[] =
    rows.length === 0
      ? []
      : [
          {
            table: {
              widths: ["*", 70, 70],
              body: rows.map((row) =>
                row.map((text) => ({ text, margin: [2, 4, 2, 4] as [number, number, number, number] })),
              ),
            },
          },
          { text: outlet, color: "#3b4650", fontSize: 7.5, margin: [0, 2, 0, 0] },
          ...toWrite.map((text): Content => ({ text, margin: [0, 8, 0, 0] })),
        ];
  return {
    unbreakable: true,
    margin: [0, 0, 0, 10],
    stack: [
      { text: title, bold: true, fontSize: 11 },
      {
        columns: [
          { width: "55%", stack: [{ image: dataUrl(photo), fit: [PAGE_PT.width * 0.55, LESSON_PHOTO_PT] }] },
          { width: "*", stack: fields },
        ],
        columnGap: 12,
      },
      { text: faultTitle, bold: true, margin: [0, 3, 0, 1] },
      {
        columns: [0, 1, 2].map((k) => ({
          stack: faults.slice(k * third, (k + 1) * third).map((text) => `☐ ${text}`),
        })),
      },
    ],
  };
}

function lessonAnswer({ title, bands, answer }: SheetDeck): Content {
  const told: Column = { width: "*", stack: [{ text: title, bold: true }, { ul: [...answer] }] };
  const [width, height] = [PAGE_PT.width * 0.38, ANSWER_PICTURE_PT];
  const picture: Column[] = bands ? [{ width, stack: [{ image: dataUrl(bands), fit: [width, height] }] }] : [];
  return { unbreakable: true, margin: [0, 0, 0, 8], columns: [...picture, told], columnGap: 12 };
}
