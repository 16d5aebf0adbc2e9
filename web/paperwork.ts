import { NewReading, type NewReadingInput, Reading } from "../vision/contract/index.ts";
import { classesOf } from "./api.ts";
import type { CasePart, OpenedPart, Part } from "./case-zip.ts";
import { drawnPicture, onCanvas, pictureOf } from "./drawn-picture.ts";
import { onPaper } from "./paper.ts";
import { type Reopened, type Tools, takeIn } from "./photo-work.ts";
import { reportSheet, type SheetPicture } from "./report-sheet.ts";
import type { Result, ShownPhoto } from "./state.ts";
import { troubleOf } from "./trouble.ts";
import { say } from "./words.ts";

/** A reading to be taken away: as one page to print, or as a case file that another copy of this program opens. Loaded when it is first wanted. */

export interface ReadPhoto {
  readonly photo: ShownPhoto;
  readonly result: Result;
  readonly request: NewReadingInput;
}

/** @param canLay  Whether this device can lay the photo flat. @returns PDF. @throws {Trouble} */
export async function makeReport(tools: Tools, read: ReadPhoto, canLay: boolean, signal: AbortSignal): Promise<Blob> {
  const { result, request } = read;
  const pictures: SheetPicture[] = [];
  if (result.picture) {
    pictures.push({ caption: say("picture.onPhoto"), image: await drawnPicture(result.picture) });
    const flat = await flatPicture(tools, read, canLay, signal).catch((error: unknown) => {
      if (signal.aborted) throw error;
      console.warn(error); // an extra: the page tells the rest without it
      return null;
    });
    if (flat) pictures.push({ caption: say("report.flat"), image: flat });
  }
  const pdf = await onPaper("writePdf", reportSheet(result.reading, request, pictures), signal);
  return new Blob([pdf], { type: "application/pdf" });
}

/** Ground below bands where the photo cannot be laid flat. */
const GROUND = "#8d959c";

async function flatPicture({ reader }: Tools, read: ReadPhoto, canLay: boolean, signal: AbortSignal): Promise<Blob> {
  const { photo, result, request } = read;
  const look = { reading: result.reading, request };
  const sheet = await reader.drawFlatSheet(look, await classesBytes(result, signal));
  const laid = canLay ? await reader.flatten(photo.id, photo.file, look, signal) : null;
  const [below, drawing] = await Promise.all([
    laid && pictureOf(laid),
    pictureOf(new Blob([withoutLegend(sheet.svg)], { type: "image/svg+xml" })),
  ]);
  const { x, y, width, height } = sheet.deck;
  return onCanvas(sheet.widthPx, sheet.heightPx, (pen) => {
    pen.fillStyle = "#ffffff";
    pen.fillRect(0, 0, sheet.widthPx, sheet.heightPx);
    pen.fillStyle = GROUND;
    pen.fillRect(x, y, width, height);
    if (below) pen.drawImage(below, x, y, width, height);
    pen.drawImage(drawing, 0, 0, sheet.widthPx, sheet.heightPx);
  });
}
/** The photo beside it has one, and it would lie on the ruler. */
function withoutLegend(svg: string): string {
  const drawn = new DOMParser().parseFromString(svg, "image/svg+xml");
  drawn.querySelector("#legend")?.remove();
  return new XMLSerializer().serializeToString(drawn);
}
const classesBytes = async ({ classesPng, classesUrl }: Result, signal: AbortSignal) =>
  classesPng ?? (await classesOf(classesUrl!, signal));

/** @returns ZIP. @throws {Trouble} */
export async function makeCase({ photo, result, request }: ReadPhoto, signal: AbortSignal): Promise<Blob> {
  const { reading, picture } = result;
  const { photo: _, corners, deck, deckId: __, ...notes } = request;
  const bytesOf = async (blob: Blob) => new Uint8Array(await blob.arrayBuffer());
  const told = (data: unknown) => new TextEncoder().encode(JSON.stringify(data, null, 2));
  const ending = /\.\w{2,5}$/.exec(photo.name)?.[0].toLowerCase() ?? ".jpg";
  const parts: [is: Part, name: string, bytes: Uint8Array<ArrayBuffer> | null][] = [
    ["photo", `photo${ending}`, await bytesOf(photo.file)],
    ["picture", "picture.jpg", picture && (await bytesOf(await drawnPicture(picture)))],
    ["classes", "classes.png", picture && (await classesBytes(result, signal))],
    ["reading", "reading.json", told(reading)],
    ["deck", "deck.json", deck ? told(deck) : null],
    ["corners", "corners.json", corners ? told(corners) : null],
    ["notes", "notes.json", Object.keys(notes).length > 0 ? told(notes) : null],
  ];
  const here = parts.flatMap(([is, name, bytes]): CasePart[] =>
    bytes ? [{ is, name, what: say(`case.what.${is}`), bytes: Uint8Array.from(bytes) }] : [],
  );
  return new Blob([await onPaper("packCase", here, signal)], { type: "application/zip" });
}

/**
 * A case as it was packed, its photo on the screen with the reading made then. It is shown as a sample is: neither kept on this
 * device nor sent, since it may be another's.
 *
 * @throws {Trouble} in words, for a file that is no case or a broken one.
 */
export async function openCase(tools: Tools, file: Blob, signal: AbortSignal): Promise<Reopened> {
  const parts = await onPaper("unpackCase", file, signal);
  const [photoPart, picture, classes] = [parts.get("photo"), parts.get("picture"), parts.get("classes")];
  const { reading, asked } = toldIn(parts);
  if (!photoPart || !reading) throw troubleOf("case-foreign");
  const id = photoPart.sha256;
  const request = NewReading.safeParse({ ...asked, photo: id });
  if (id !== reading.photo.sha256 || !request.success) throw troubleOf("case-broken");
  const type = TYPES[photoPart.name.split(".").at(-1)!] ?? "";
  const shown = { file: new Blob([photoPart.bytes], { type }), name: reading.photo.name, own: false };
  const photo = await takeIn(tools, shown, signal);
  const urlOf = (bytes: Uint8Array<ArrayBuffer>, kind: string) =>
    URL.createObjectURL(new Blob([bytes], { type: kind }));
  const seen = reading.quality.usable && picture && classes;
  const result: Result = {
    reading,
    readingUrl: urlOf(parts.get("reading")!.bytes, "application/json"),
    picture: seen ? { photoUrl: urlOf(picture.bytes, "image/jpeg"), drawingUrl: null } : null,
    classesUrl: seen ? urlOf(classes.bytes, "image/png") : null,
    classesPng: seen ? classes.bytes : null,
  };
  return { photo, last: { request: request.data, result } };
}
/** So that browsers open what they can. */
const TYPES: Readonly<Record<string, string>> = {
  jpg: "image/jpeg",
  jpeg: "image/jpeg",
  png: "image/png",
  webp: "image/webp",
  heic: "image/heic",
  heif: "image/heif",
};

function toldIn(parts: ReadonlyMap<Part, OpenedPart>) {
  const json = (is: Part) => parts.get(is)?.data;
  const reading = Reading.safeParse(json("reading"));
  const deck = json("deck");
  const notes = json("notes");
  const asked = {
    ...(typeof notes === "object" ? notes : {}),
    corners: json("corners") ?? null,
    ...(deck !== undefined && { deck }),
  };
  return { reading: reading.success ? reading.data : null, asked };
}
