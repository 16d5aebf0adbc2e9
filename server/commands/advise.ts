import { basename, dirname, join } from "node:path";
import { AimFile, DeckFile, type DeckFileInput, Reading, SettingsFile } from "../../vision/contract/index.ts";
import { readJson, readJsonIfThere } from "../json-file.ts";
import { UsageError } from "../usage.ts";
import { rulerOf, SAFETY_LINES, sayHint } from "../words.ts";

export interface AdviseOptions {
  readonly deck?: string;
  readonly settings?: string;
  readonly aim?: string;
  readonly json?: boolean;
}

/** Advise anew on a stored reading, with other settings or another aim. @returns exit code 0, or 1 if it is unusable. */
export async function advise(path: string, options: AdviseOptions): Promise<number> {
  const reading = await readJson(path, Reading, "reading");
  const settings =
    options.settings === undefined ? undefined : await readJson(options.settings, SettingsFile, "settings file");
  const aim = options.aim === undefined ? undefined : await readJson(options.aim, AimFile, "aim file");
  const file = await deckFile(path, reading, options.deck);
  const vision = await import("../../vision/index.ts"); // loads OpenCV: only for those who need it
  let deck: ReturnType<typeof vision.describeDeck>;
  try {
    deck = vision.describeDeck(file);
  } catch (error) {
    if (error instanceof vision.NotesError) throw new UsageError(`The deck file cannot be used. ${error.message}`);
    throw error;
  }
  const hints = reading.quality.usable ? vision.advise(reading, deck, { settings, aim }) : [];
  if (options.json) process.stdout.write(`${JSON.stringify(hints)}\n`);
  else if (!reading.quality.usable)
    process.stdout.write("This reading is of an unusable photo: there is nothing to advise.\n");
  else {
    const said = hints.flatMap((hint) => [...sayHint(hint, rulerOf(reading)), ""]);
    process.stdout.write(`${[...said, ...SAFETY_LINES].join("\n")}\n`);
  }
  return reading.quality.usable ? 0 : 1;
}

/** The deck named, else the one beside the reading, else what the reading itself tells of it. */
async function deckFile(path: string, reading: Reading, named: string | undefined): Promise<DeckFileInput | null> {
  if (named !== undefined) return readJson(named, DeckFile, "deck file");
  if (reading.scale === "assumed") return null;
  const stem = basename(path).replace(/(\.reading)?\.json$/, "");
  const beside = await readJsonIfThere(join(dirname(path), `${stem}.deck.json`), DeckFile, "deck file");
  return beside ?? deckOf(reading);
}

/** Size, splitters and launders as a reading tells them; which controls there are is then the usual. */
function deckOf({ grid, splitters, launders }: Reading): DeckFileInput | null {
  if (!grid) return null;
  const between = (atMm: number) => {
    const before = launders.findLast(({ toMm }) => toMm <= atMm + 1)?.product ?? "dense";
    const after = launders.find(({ fromMm }) => fromMm >= atMm - 1)?.product ?? "light";
    return [before, after] as [typeof before, typeof after];
  };
  return {
    schemaVersion: 1,
    lengthMm: grid.columns * grid.mmPerCell,
    widthMm: grid.rows * grid.mmPerCell,
    splitters: splitters.map(({ name, atMm }) => ({ name, atMm, between: between(atMm) })),
    launders: launders.map(({ name, product, fromMm, toMm }) => ({ name, product, fromMm, toMm })),
  };
}
