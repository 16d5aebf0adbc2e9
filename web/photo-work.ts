import {
  type DeckFileInput,
  type EarlierLook,
  MOST_EARLIER,
  NewReading,
  type NewReadingInput,
  type StageEvent,
} from "../vision/contract/index.ts";
import type { Helped } from "../vision/index.ts";
import { classesOf, type Parcel, photoThere, pictureUrl, previewUrl, readingUrl, readPhoto, sendPhoto } from "./api.ts";
import { signedArea } from "./deck.ts";
import { isOtherMaterial, keepSaid, saidOf } from "./deck-kept.ts";
import { type Kept, type MadeReading, NotKept, type Photo } from "./kept.ts";
import type { FlatShown } from "./parts/flat-view.ts";
import type { Opened, OpeningFault } from "./photo-limits.ts";
import { type Reader, ReaderProblem } from "./reader.ts";
import type { Sender } from "./sending.ts";
import type { Comparison, Result, ShownPhoto } from "./state.ts";
import { Trouble, troubleOf } from "./trouble.ts";

/** What is done with a photo: opened, kept, read on this device or by the server. Knows nothing of the screen. */

export interface Tools {
  readonly reader: Reader;
  readonly kept: Kept;
  readonly sender: Sender;
}
type OnStage = (stage: StageEvent["stage"]) => void;

/**
 * Open a photo and keep it on this device.
 *
 * @param own  The person's own, to be kept and sent; a sample is neither.
 * @throws {Trouble}
 */
export async function takeIn(
  { reader, kept, sender }: Tools,
  { file, name, own }: { file: Blob; name: string; own: boolean },
  signal: AbortSignal,
): Promise<ShownPhoto> {
  const { id, opened } = await open(reader, file, signal);
  const photo: Photo = { id, name, seen: opened && seenOf(opened), keptAt: Date.now() };
  const files = { file, preview: opened?.preview ?? null };
  const isKept = own && (await keep(() => kept.addPhoto(photo, files)));
  if (isKept) sender.wake();
  const shown = opened ? here(photo, opened.preview) : await there(sender, { id, name, file }, isKept, signal);
  return { ...shown, file, own, isKept };
}

/** `opened` null: only the server can open it. */
async function open(reader: Reader, file: Blob, signal: AbortSignal): Promise<{ id: string; opened: Opened | null }> {
  try {
    const opened = await reader.open(file, signal);
    return { id: opened.id, opened };
  } catch (error) {
    if (error instanceof ReaderProblem && error.photoId) return { id: error.photoId, opened: null };
    throw inWords(error);
  }
}

const seenOf = ({ widthPx, heightPx, takenAt, thumbUrl }: Opened) => ({ widthPx, heightPx, takenAt, thumbUrl });

const here = ({ id, name, seen }: Photo, preview: Blob) => ({
  id,
  name,
  widthPx: seen!.widthPx,
  heightPx: seen!.heightPx,
  takenAt: seen!.takenAt,
  previewUrl: URL.createObjectURL(preview),
});

/** The server opens what this browser cannot. */
async function there(sender: Sender, photo: Omit<Parcel, "upload">, isKept: boolean, signal: AbortSignal) {
  try {
    if (isKept) await sender.now(photo.id);
    const receipt = isKept
      ? await photoThere(photo.id, signal)
      : await sendPhoto({ ...photo, upload: null }, {}, signal);
    if (!receipt) throw troubleOf("strange-answer");
    return { ...receipt, previewUrl: previewUrl(photo.id) };
  } catch (error) {
    if (!(error instanceof Trouble && error.code === "no-answer")) throw error;
    throw troubleOf("photo-unknown-here" satisfies OpeningFault);
  }
}

/** Looks older than this are of another shift, hours. */
const EARLIER_HOURS = 12;
/** How many kept photos are gone through for looks at this deck. */
const GONE_THROUGH = 20;
/** Earlier looks at the same deck that are kept here, oldest first: what advice leans on beside the photo itself. */
export async function earlierLooks(
  kept: Kept,
  { id, own }: ShownPhoto,
  deck: DeckFileInput | undefined,
): Promise<EarlierLook[]> {
  if (!own || !deck) return [];
  const at = (await kept.photo(id))?.keptAt ?? Date.now();
  const photos = (await kept.newestPhotos(GONE_THROUGH)).filter(
    ({ keptAt }) => keptAt < at && keptAt > at - EARLIER_HOURS * 3_600_000,
  );
  const made = await Promise.all(
    photos.toSorted((a, b) => a.keptAt - b.keptAt).map((photo) => kept.newestReading(photo.id)),
  );
  const same = sameDeck(deck);
  return made
    .flatMap((one) =>
      one?.reading.quality.usable && one.request.deck && sameDeck(one.request.deck) === same ? [one] : [],
    )
    .slice(-MOST_EARLIER)
    .map(({ reading, request }): EarlierLook => {
      const { twin: _twin, ...settings } = request.settings ?? {};
      const bands = reading.bands.map((band) => ({ ...band, centreLine: [] }));
      const seen = { bands, splitters: reading.splitters, advice: reading.advice.slice(0, 1) };
      return { reading: seen, ...(request.settings && { settings }) };
    });
}
/** A deck by what does not change when a splitter is moved. */
const sameDeck = ({ name, lengthMm, widthMm, outline, outletPath }: DeckFileInput) =>
  JSON.stringify([name ?? null, lengthMm, widthMm, outline ?? null, outletPath ?? null]);

/** A photo that is kept here, to be shown again, with the last reading of it; null where only the server can show it. */
export async function reopen(kept: Kept, id: string): Promise<Reopened | null> {
  const [found, files] = await Promise.all([kept.photo(id), kept.files(id)]);
  if (!found?.seen || !files?.preview) return null;
  const photo = { ...here(found, files.preview), file: files.file, own: true, isKept: true };
  const made = await kept.newestReading(id);
  return { photo, last: made ? { request: NewReading.parse(made.request), result: resultOf(photo, made) } : null };
}
export interface Reopened {
  readonly photo: ShownPhoto;
  readonly last: { readonly request: NewReading; readonly result: Result } | null;
}

const taskOf = ({ id, name, takenAt, widthPx, heightPx }: ShownPhoto, request: NewReadingInput) => ({
  source: { name, sha256: id, takenAt },
  widthPx,
  heightPx,
  request,
});
/** What this device is likely to be asked next: what does not hang on the person is found meanwhile. */
export const lookAhead = ({ reader }: Tools, photo: ShownPhoto, request: NewReadingInput) =>
  reader.lookAhead(photo.file, taskOf(photo, request));

/** Read a photo on this device. @throws {Trouble} */
export async function readHere(
  { reader, kept, sender }: Tools,
  photo: ShownPhoto,
  request: NewReadingInput,
  onStage: OnStage,
  signal: AbortSignal,
): Promise<Result> {
  const made = await reader.read(photo.file, taskOf(photo, request), onStage, signal).catch((error: unknown) => {
    throw signal.aborted ? error : inWords(error);
  });
  const reading: MadeReading = { ...made, photo: photo.id, request, madeAt: Date.now(), by: "device" };
  if (photo.isKept && (await keep(() => kept.addReading(reading, "waits")))) sender.wake();
  return resultOf(photo, reading);
}

/** Have the server read a photo. When `signal` aborts, it is told. @throws {Trouble} */
export async function readThere(
  { kept, sender }: Pick<Tools, "kept" | "sender">,
  photo: ShownPhoto,
  request: NewReadingInput,
  onStage: OnStage,
  signal: AbortSignal,
): Promise<Result> {
  const parcel = { ...photo, upload: null };
  if (photo.isKept) await sender.now(photo.id);
  else await sendPhoto(parcel, {}, signal);
  signal.throwIfAborted();
  const ask = () => readPhoto(request, onStage, signal);
  const { id, reading } = await ask().catch(async (error: unknown) => {
    if (!(error instanceof Trouble && error.code === "not-found")) throw error;
    await sendPhoto(parcel, {}, signal); // the server has lost it
    return ask();
  });
  const asked = { photo: photo.id, request, madeAt: Date.now() };
  const made: MadeReading = { id, reading, drawing: null, classesPng: null, ...asked, by: "server" };
  if (photo.isKept) await keep(() => kept.addReading(made, "sent"));
  return resultOf(photo, made);
}

/**
 * Two kept photos, laid flat unless they are already, and judged on this device.
 *
 * @returns null where they are not of one deck, or not kept here any more.
 * @throws {Trouble}
 */
export async function compareKept(
  { kept, reader }: Tools,
  { before, after, followed, seen }: Comparison,
  signal: AbortSignal,
): Promise<Comparison["seen"]> {
  const [was, is] = await Promise.all([kept.newestReading(before), kept.newestReading(after)]);
  const deckOf = ({ reading, request: { deck } }: MadeReading) =>
    JSON.stringify([deck ? sameDeck(deck) : null, reading.grid]);
  if (!was || !is || deckOf(was) !== deckOf(is)) return null;
  const flat = async (id: string, made: MadeReading) => {
    const files = await kept.files(id);
    return files && URL.createObjectURL(await reader.flatten(id, files.file, made, signal));
  };
  try {
    const hint = followed === null ? null : was.reading.advice[followed];
    const helped = await reader.judgeLooks(was, is, hint ?? NOTHING_KNOWN, signal);
    keepLearned(is, helped.twin);
    if (seen) return { ...seen, helped };
    const [early, late] = [await flat(before, was), await flat(after, is)];
    return early && late ? { flatUrls: [early, late], helped } : null;
  } catch (error) {
    throw inWords(error);
  }
}
/** What a pair taught goes with the next reading of this deck, as long as its material is the same. */
function keepLearned({ request: { deck, profile = {} } }: MadeReading, twin: Helped["twin"]): void {
  const said = saidOf(deck ?? null);
  if (deck && said && twin && !isOtherMaterial(said.profile, profile)) keepSaid(deck, { ...said, twin });
}
/** A look, not a change of which one knows what to expect. */
const NOTHING_KNOWN = { control: "inspect" } as const;

/**
 * A reading on the flat deck; the photo below it only where this device can lay it flat.
 *
 * @param canLay  Whether what that takes is here.
 * @throws {Trouble}
 */
export async function layFlat(
  { reader }: Tools,
  photo: ShownPhoto,
  { reading, classesUrl, classesPng }: Result,
  request: NewReadingInput,
  canLay: boolean,
  signal: AbortSignal,
): Promise<FlatShown> {
  const look = { reading, request };
  try {
    const bytes = classesPng ?? (await classesOf(classesUrl!, signal));
    const drawing = await reader.drawFlat(look, bytes);
    const flattened = async () => (canLay ? await reader.flatten(photo.id, photo.file, look, signal) : null);
    return {
      reading,
      drawing,
      mirrored: signedArea(reading.view!.cornersPx) < 0,
      photo: flattened().catch((error: unknown) => {
        console.warn(error); // an extra: the bands show without it
        return null;
      }),
      tryPlaces: (places) => reader.tryPlaces(look, places),
    };
  } catch (error) {
    throw inWords(error);
  }
}

/** A reading as the page shows it; its parts are here, or on the server that made it. */
function resultOf(photo: ShownPhoto, made: MadeReading): Result {
  const { id, reading, drawing, classesPng } = made;
  if (made.by === "server") {
    const { usable } = reading.quality;
    const picture =
      drawing === null ? { photoUrl: pictureUrl(id, "overlay"), drawingUrl: null } : drawnOver(photo, drawing);
    const classesUrl = usable ? readingUrl(id, "/classes.png") : null;
    return { reading, readingUrl: readingUrl(id), picture: usable ? picture : null, classesUrl, classesPng: null };
  }
  return {
    reading,
    readingUrl: urlOf(JSON.stringify(reading), "application/json"),
    picture: drawing === null ? null : drawnOver(photo, drawing),
    classesPng,
    classesUrl: classesPng && URL.createObjectURL(new Blob([classesPng], { type: "image/png" })),
  };
}
const drawnOver = ({ previewUrl: photoUrl }: ShownPhoto, drawing: string) => ({
  photoUrl,
  drawingUrl: urlOf(drawing, "image/svg+xml"),
});
const urlOf = (text: string, type: string) => URL.createObjectURL(new Blob([text], { type }));

/** Addresses of what is in memory, given back when another photo comes. */
export function forget(photo: ShownPhoto | null, result: Result | null): void {
  const urls = [photo?.previewUrl, result?.readingUrl, result?.picture?.drawingUrl, result?.classesUrl];
  for (const url of urls) if (url?.startsWith("blob:")) URL.revokeObjectURL(url);
}

/** @returns false where this device has no room: what was to be kept is then only on the screen. */
async function keep(put: () => Promise<void>): Promise<boolean> {
  try {
    await put();
    return true;
  } catch (error) {
    if (error instanceof NotKept) return false;
    throw error;
  }
}

/** As `forget`, of a comparison that another one replaces. */
export function forgetComparison(seen: Comparison["seen"] | undefined): void {
  for (const url of seen?.flatUrls ?? []) URL.revokeObjectURL(url);
}

/** What the worker found wrong, in words for the person. */
const inWords = (error: unknown) =>
  error instanceof ReaderProblem ? troubleOf(error.code, error.message, error, error.said) : error;
