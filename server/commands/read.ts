import { mkdir, readFile, writeFile } from "node:fs/promises";
import { basename, dirname, extname, join } from "node:path";
import {
  AimFile,
  CornersFile,
  DeckFile,
  MaterialProfile,
  SettingsFile,
  TapsFile,
} from "../../vision/contract/index.ts";
import { readJson, readJsonIfThere } from "../json-file.ts";
import { type Outcome, Reader, ReaderError, type Task, type Trouble } from "../reader.ts";
import { UsageError } from "../usage.ts";
import { sayReading } from "../words.ts";

export interface ReadOptions {
  readonly deck?: string;
  readonly corners?: string;
  readonly taps?: string;
  readonly profile?: string;
  readonly settings?: string;
  readonly aim?: string;
  readonly out?: string;
  readonly json?: boolean;
}

/**
 * Read photos, one after another through one warm thread.
 *
 * @returns exit code: 0 when all were read, 1 when some could not be; the others are still done.
 * @throws {UsageError} before anything is read, when a file named by an option cannot be used.
 */
export async function read(photos: readonly string[], options: ReadOptions): Promise<number> {
  if (photos.length === 0) throw new UsageError("Name at least one photo to read.");
  const given = await filesGiven(options);
  const names = outputNames(photos);
  if (options.out !== undefined) await makeFolder(options.out);
  const reader = new Reader({ apart: false });
  try {
    if (given.deck) await checkDeck(reader, given.deck, options.deck ?? "");
    let unread = 0;
    for (const [i, path] of photos.entries()) {
      const outcome = await readOne(reader, path, given, options.out !== undefined);
      if (options.out !== undefined) await save(options.out, names[i] ?? "photo", outcome);
      if (!outcome.reading.quality.usable) unread++;
      process.stdout.write(
        options.json ? `${JSON.stringify(outcome.reading)}\n` : told(outcome, photos.length > 1 && i > 0),
      );
    }
    return unread === 0 ? 0 : 1;
  } finally {
    await reader.close();
  }
}

type Given = Awaited<ReturnType<typeof filesGiven>>;
async function filesGiven({ deck, corners, taps, profile, settings, aim }: ReadOptions) {
  return {
    deck: deck === undefined ? undefined : await readJson(deck, DeckFile, "deck file"),
    corners: corners === undefined ? undefined : await readJson(corners, CornersFile, "corners file"),
    taps: taps === undefined ? undefined : await readJson(taps, TapsFile, "taps file"),
    profile: profile === undefined ? undefined : await readJson(profile, MaterialProfile, "material profile"),
    settings: settings === undefined ? undefined : await readJson(settings, SettingsFile, "settings file"),
    aim: aim === undefined ? undefined : await readJson(aim, AimFile, "aim file"),
  };
}

async function checkDeck(reader: Reader, deck: DeckFile, path: string): Promise<void> {
  try {
    await reader.checkDeck(deck);
  } catch (error) {
    if (error instanceof ReaderError && error.code !== "engine-failed") {
      throw new UsageError(`The deck file ${path} cannot be used. ${error.message}`);
    }
    throw error;
  }
}

/** What belongs to one photo: what options name, else what lies beside it. */
async function readOne(reader: Reader, path: string, given: Given, pictures: boolean): Promise<Outcome> {
  const name = basename(path);
  const refuse = (why: Trouble) => reader.refuse({ name, sha256: "" }, why);
  let task: Task;
  try {
    const bytes = await photoBytes(path);
    const beside = (kind: string) => join(dirname(path), `${basename(path, extname(path))}.${kind}.json`);
    const deck = given.deck ?? (await readJsonIfThere(beside("deck"), DeckFile, "deck file"));
    const corners = given.corners ?? (await readJsonIfThere(beside("corners"), CornersFile, "corners file"));
    const taps = given.taps ?? (await readJsonIfThere(beside("taps"), TapsFile, "taps file"));
    const { profile, settings, aim } = given;
    task = { bytes, name, deck, corners, notes: { ...taps, profile, settings, aim }, pictures };
  } catch (error) {
    if (error instanceof UsageError) return refuse({ code: "file", message: error.message });
    throw error;
  }
  return reader.read(task);
}

async function photoBytes(path: string): Promise<Uint8Array> {
  try {
    return await readFile(path);
  } catch (error) {
    const code = (error as NodeJS.ErrnoException).code ?? "";
    if (code === "EISDIR")
      throw new UsageError(`${path} is a folder. Name the photos in it, such as ${join(path, "*.jpg")}.`);
    if (code === "ENOENT") throw new UsageError(`There is no photo ${path}. Check its name.`);
    throw new UsageError(`The photo ${path} cannot be read (${code}). Check its permissions.`);
  }
}

/** NAME of each photo's files; photos of one name in different folders are told apart by a number. */
function outputNames(photos: readonly string[]): string[] {
  const taken = new Set<string>();
  return photos.map((path) => {
    const stem = basename(path, extname(path)) || "photo";
    let name = stem;
    for (let n = 2; taken.has(name); n++) name = `${stem}-${n}`;
    taken.add(name);
    return name;
  });
}

async function makeFolder(folder: string): Promise<void> {
  try {
    await mkdir(folder, { recursive: true });
  } catch (error) {
    const code = (error as NodeJS.ErrnoException).code;
    throw new UsageError(`Nothing can be written to ${folder} (${code}). Name another folder with --out.`);
  }
}

async function save(folder: string, name: string, { reading, pictures }: Outcome): Promise<void> {
  const write = async (ending: string, content: string | Uint8Array) => {
    try {
      await writeFile(join(folder, `${name}.${ending}`), content);
    } catch (error) {
      const code = (error as NodeJS.ErrnoException).code;
      throw new UsageError(
        `${join(folder, `${name}.${ending}`)} cannot be written (${code}). Name another folder with --out.`,
      );
    }
  };
  await write("reading.json", `${JSON.stringify(reading, null, 2)}\n`);
  if (!pictures) return;
  await write("classes.png", pictures.classes);
  await write("confidence.png", pictures.confidence);
  await write("overlay.jpg", pictures.overlay);
}

const told = ({ reading }: Outcome, follows: boolean) => `${follows ? "\n———\n\n" : ""}${sayReading(reading)}`;
