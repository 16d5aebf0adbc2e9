import { mkdir, readdir, writeFile } from "node:fs/promises";
import { basename, extname, join } from "node:path";
import { writeRunSheet } from "../../vision/accounts/index.ts";
import { readConfig } from "../config.ts";
import { cocoOfMarkUp } from "../mark-up-coco.ts";
import { withoutPosition } from "../position.ts";
import type { Caller } from "../storage/caller.ts";
import { callerIn, type Data, openData, peopleOf, siteOf } from "../storage/data.ts";
import type { Ask, Page } from "../storage/pages.ts";
import { PICTURES } from "../storage/readings.ts";
import { wholeList } from "../storage/whole-list.ts";
import { UsageError } from "../usage.ts";
import { VERSION } from "../version.ts";

/** What each picture of a reading is called, as `read --out` calls it. */
const ENDINGS = { overlay: "overlay.jpg", classes: "classes.png", confidence: "confidence.png" } as const;

const FOLDERS = ["photos", "decks", "runs", "gallery"];

/**
 * Write all of a site into a new folder, in open formats: JSON, CSV, and pictures as they were sent. Photos lose the
 * position they were taken at, unless it is wanted.
 *
 *   site.json, runs.json, readings.csv
 *   runs/NAME.ID.run.csv              what was written down of each run; runs.json has who did, and corrections
 *   decks/NAME.ID.vN.deck.json        every version of every deck
 *   photos/NAME.ID.EXT                with NAME.ID.*.reading.json, its pictures and what people said of it: mark-ups with
 *                                     their areas as PNG and COCO, hints taken, what was asked of reviewers and answered
 *   gallery/references.json           the site's own references, as the stock is written; photo and classes in ID.jpg, ID.classes.png
 *   lessons.json, lesson-tries.json   lessons name references of the gallery or of the stock; tries have who, when and the score
 *
 * @returns exit code. @throws {UsageError} for a folder that is not empty, or a site that is not here.
 */
export async function exportSite(folder: string, options: { site?: string; position: boolean }): Promise<number> {
  const { dataFolder, elsewhere } = readConfig(process.env);
  if (dataFolder === null) throw new UsageError("Name the data folder in DECKBANDS_DATA.");
  for (const name of FOLDERS) await mkdir(join(folder, name), { recursive: true });
  const others = (await readdir(folder)).filter((name) => !FOLDERS.includes(name));
  if (others.length > 0) throw new UsageError(`${folder} is not empty. Name a new folder.`);
  const data = await openData(dataFolder, elsewhere);
  try {
    const caller = options.site === undefined ? data.local : await callerIn(data, options.site);
    const site = await siteOf(data, caller);
    const about = { schemaVersion: 1, exportedBy: VERSION, exportedAt: new Date().toISOString() };
    await writeJson(join(folder, "site.json"), { ...about, site, people: await peopleOf(data, caller) });
    await writeDecks(data, caller, join(folder, "decks"));
    await writeRuns(data, caller, folder);
    await writeGallery(data, caller, join(folder, "gallery"), options.position);
    await writeJson(join(folder, "lessons.json"), await listed((ask) => data.lessons.list(caller, ask)));
    await writeJson(join(folder, "lesson-tries.json"), await listed((ask) => data.lessons.tries(caller, ask, null)));
    const photos = await writePhotos(data, caller, folder, options.position);
    const where = options.position ? "Photos keep the position they were taken at." : "Photos are without position.";
    process.stdout.write(`Exported ${site.name}, ${photos} photos, to ${folder}. ${where}\n`);
    return 0;
  } finally {
    await data.close();
  }
}

async function writeDecks(data: Data, caller: Caller, folder: string): Promise<void> {
  for await (const { id, name } of wholeList((ask) => data.decks.list(caller, ask))) {
    for await (const { version, file } of wholeList((ask) => data.decks.versions(caller, id, ask))) {
      await writeJson(join(folder, `${plain(name)}.${id.slice(0, 8)}.v${version}.deck.json`), file);
    }
  }
}

async function writeRuns(data: Data, caller: Caller, folder: string): Promise<void> {
  const runs: object[] = [];
  for await (const run of wholeList((ask) => data.runs.list(caller, ask))) {
    const settings = await listed((ask) => data.runs.settings(caller, run.id, ask));
    const entries = await listed((ask) => data.runLogs.list(caller, run.id, ask));
    runs.push({ ...run, settings, entries });
    if (entries.length === 0) continue;
    const { record } = await data.runLogs.record(caller, run.id);
    await writeFile(join(folder, "runs", `${plain(run.name)}.${run.id.slice(0, 8)}.run.csv`), writeRunSheet(record));
  }
  await writeJson(join(folder, "runs.json"), runs);
}

/** The site's own references, those that came in packs among them. */
async function writeGallery(data: Data, caller: Caller, folder: string, position: boolean): Promise<void> {
  const { references } = await data.gallery.shelf(caller, []);
  const bare = references.map(({ photoUrl: _, classesUrl: __, ...reference }) => reference);
  await writeJson(join(folder, "references.json"), { schemaVersion: 1, references: bare });
  for (const { id } of references) {
    const blobs = await data.gallery.pictures(caller, id);
    const photo = blobs && (await data.blobs.read(blobs.photo));
    if (photo) await writeFile(join(folder, `${id}.jpg`), position ? photo : withoutPosition(photo));
    const classes = blobs?.classes && (await data.blobs.read(blobs.classes));
    if (classes) await writeFile(join(folder, `${id}.classes.png`), classes);
  }
}

async function writePhotos(data: Data, caller: Caller, folder: string, position: boolean): Promise<number> {
  const lines = ["photo,takenAt,reading,current,madeAt,program,usable,band,fromMm,fromErrorMm,toMm,toErrorMm"];
  let count = 0;
  for await (const photo of wholeList((ask) => data.photos.list(caller, ask, null))) {
    const bytes = await data.blobs.read(photo.id);
    if (!bytes) throw new UsageError(`The bytes of photo ${photo.name} are missing. Restore a backup.`);
    const ending = extname(photo.name).replace(/[^.\w]/g, "") || `.${photo.format}`;
    const stem = join(folder, "photos", `${plain(basename(photo.name, extname(photo.name)))}.${photo.id.slice(0, 12)}`);
    await writeFile(stem + ending, position ? bytes : withoutPosition(bytes));
    for await (const { id, madeAt, program } of wholeList((ask) =>
      data.readings.list(caller, ask, { photo: photo.id }),
    )) {
      const reading = await data.readings.reading(caller, id);
      if (!reading) continue; // deleted while we looked
      const name = `${stem}.${id.slice(0, 12)}`;
      await writeJson(`${name}.reading.json`, reading);
      await writeSaid(data, caller, id, name);
      for (const picture of PICTURES) {
        const blob = await data.readings.picture(caller, id, picture);
        const drawn = blob && (await data.blobs.read(blob));
        if (drawn) await writeFile(`${name}.${ENDINGS[picture]}`, drawn);
      }
      const first = [photo.name, photo.takenAt, id, id === photo.reading, madeAt, program, reading.quality.usable];
      const spans = reading.bands.flatMap(({ kind, outlet }) =>
        outlet.map((s) => [kind, s.fromMm, s.fromErrorMm, s.toMm, s.toErrorMm]),
      );
      for (const span of spans.length > 0 ? spans : [[]]) lines.push([...first, ...span].map(csvField).join(","));
    }
    count++;
  }
  await writeFile(join(folder, "readings.csv"), `${lines.join("\r\n")}\r\n`);
  return count;
}

/** What people said of a reading, where they did. */
async function writeSaid(data: Data, caller: Caller, id: string, name: string): Promise<void> {
  const markUps = await listed((ask) => data.said.markUps(caller, id, ask));
  if (markUps.length > 0) await writeJson(`${name}.mark-ups.json`, markUps);
  for (const { id: markUp } of markUps) await writeAreas(data, caller, markUp, `${name}.mark-up.${markUp.slice(0, 8)}`);
  const hints = await listed((ask) => data.said.hintsTaken(caller, id, ask));
  if (hints.length > 0) await writeJson(`${name}.hints-taken.json`, hints);
  const asks = await listed((ask) => data.reviews.asks(caller, id, ask));
  if (asks.length > 0) await writeJson(`${name}.asks.json`, asks);
  const answers = await listed((ask) => data.reviews.answers(caller, id, ask));
  if (answers.length > 0) await writeJson(`${name}.answers.json`, answers);
}

/** What a mark-up says of cells, where it does: PNG with a palette, and COCO. */
async function writeAreas(data: Data, caller: Caller, id: string, name: string): Promise<void> {
  const markUp = await data.said.oneMarkUp(caller, id);
  const classes = markUp.blob && (await data.blobs.read(markUp.blob));
  if (!classes) return;
  await writeFile(`${name}.classes.png`, classes);
  await writeJson(`${name}.coco.json`, await cocoOfMarkUp(data, caller, markUp));
}

async function listed<Item>(list: (ask: Ask) => Promise<Page<Item>>): Promise<Item[]> {
  const items: Item[] = [];
  for await (const item of wholeList(list)) items.push(item);
  return items;
}

const writeJson = (path: string, value: unknown) => writeFile(path, `${JSON.stringify(value, null, 2)}\n`);
/** A name as part of a file's name: never a path, and the same on every system. */
const plain = (name: string) =>
  name
    .replace(/[^\p{L}\p{N}._-]+/gu, "-")
    .replace(/^\.+/, "")
    .slice(0, 60) || "unnamed";
/** RFC 4180; text that a spreadsheet would take for a formula is given a quote before it. */
function csvField(value: unknown): string {
  if (value === null || value === undefined) return "";
  const text = typeof value === "string" && /^[=+\-@\t\r]/.test(value) ? `'${value}` : String(value);
  return /[",\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text;
}
