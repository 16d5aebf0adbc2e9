/** The only door to pdfmake: a report's blocks → PDF. */
import { fileURLToPath } from "node:url";
import pdfmake from "pdfmake";
import type { Content, TDocumentDefinitions } from "pdfmake/interfaces.js";
import type { Block } from "./report-blocks.ts";

const font = (name: string) => fileURLToPath(import.meta.resolve(`dejavu-fonts-ttf/ttf/${name}.ttf`));
const FONTS = { DejaVu: { normal: font("DejaVuSans"), bold: font("DejaVuSans-Bold") } };
/** A4 within its margins, points. */
const WIDTH_PT = 515;

let ready = false;
function open() {
  if (ready) return;
  pdfmake.setFonts(FONTS);
  // a report never fetches anything, whatever people typed into it
  pdfmake.setUrlAccessPolicy(() => false);
  pdfmake.setLocalAccessPolicy((path) => Object.values(FONTS.DejaVu).includes(path));
  ready = true;
}

/** @param title  Also the document's title. @param language  BCP 47. */
export async function writePdf(title: string, blocks: readonly Block[], language = "en"): Promise<Uint8Array> {
  open();
  const document: TDocumentDefinitions = {
    info: { title, creator: "deckbands", producer: "deckbands" },
    language,
    pageSize: "A4",
    pageMargins: [40, 40, 40, 50],
    defaultStyle: { font: "DejaVu", fontSize: 9, lineHeight: 1.2 },
    content: blocks.map(content),
    footer: (page, pages) => ({ text: `${title} · ${page} / ${pages}`, fontSize: 7, margin: [40, 12, 40, 0] }),
  };
  return new Uint8Array(await pdfmake.createPdf(document).getBuffer());
}

const SIZES = { 1: 17, 2: 13, 3: 10 } as const;

function content(block: Block): Content {
  switch (block.kind) {
    case "heading":
      return { text: block.text, fontSize: SIZES[block.level], bold: true, margin: [0, 10, 0, 4] };
    case "text":
      return { text: block.text, margin: [0, 0, 0, 4] };
    case "list":
      return { ul: [...block.items], margin: [0, 0, 0, 6] };
    case "table":
      return {
        table: {
          headerRows: 1,
          widths: block.heads.map(() => "auto" as const),
          body: [block.heads.map((head) => ({ text: head, bold: true })), ...block.rows.map((row) => [...row])],
        },
        layout: "lightHorizontalLines",
        fontSize: 8,
        margin: [0, 2, 0, 8],
      };
    case "photo":
      if (typeof block.source === "string") return { text: block.alt };
      return {
        image: `data:image/jpeg;base64,${Buffer.from(block.source).toString("base64")}`,
        fit: [WIDTH_PT, 320],
        margin: [0, 2, 0, 8],
      };
    case "drawing":
      return {
        unbreakable: true,
        stack: [
          { svg: block.svg, width: WIDTH_PT },
          { text: block.alt, fontSize: 8 },
        ],
        margin: [0, 2, 0, 8],
      };
  }
}
