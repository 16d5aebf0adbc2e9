import { AimFile, MaterialProfile, Reading, SettingsFile } from "../../vision/contract/index.ts";
import { deckFileFor } from "../deck-beside.ts";
import { readJson } from "../json-file.ts";
import { UsageError } from "../usage.ts";
import { rulerOf, SAFETY_LINES, sayHint } from "../words.ts";

export interface AdviseOptions {
  readonly deck?: string;
  readonly profile?: string;
  readonly settings?: string;
  readonly aim?: string;
  /** The reading before this one, so that two photos of one deck give one hint. */
  readonly before?: string;
  readonly json?: boolean;
}

/** Advise anew on a stored reading, with other settings or another aim. @returns exit code 0, or 1 if it is unusable. */
export async function advise(path: string, options: AdviseOptions): Promise<number> {
  const reading = await readJson(path, Reading, "reading");
  const settings =
    options.settings === undefined ? undefined : await readJson(options.settings, SettingsFile, "settings file");
  const aim = options.aim === undefined ? undefined : await readJson(options.aim, AimFile, "aim file");
  const profile =
    options.profile === undefined ? undefined : await readJson(options.profile, MaterialProfile, "profile");
  const before = options.before === undefined ? undefined : await readJson(options.before, Reading, "reading before");
  const file = await deckFileFor(path, reading, options.deck);
  const vision = await import("../../vision/index.ts"); // loads OpenCV: only for those who need it
  let deck: ReturnType<typeof vision.describeDeck>;
  try {
    deck = vision.describeDeck(file);
  } catch (error) {
    if (error instanceof vision.NotesError) throw new UsageError(`The deck file cannot be used. ${error.message}`);
    throw error;
  }
  const earlier = before?.quality.usable ? [{ reading: before, settings }] : [];
  const hints = reading.quality.usable ? vision.advise(reading, deck, { settings, aim, profile, earlier }) : [];
  if (options.json) process.stdout.write(`${JSON.stringify(hints)}\n`);
  else if (!reading.quality.usable)
    process.stdout.write("This reading is of an unusable photo: there is nothing to advise.\n");
  else {
    const said = hints.flatMap((hint) => [...sayHint(hint, rulerOf(reading)), ""]);
    process.stdout.write(`${[...said, ...SAFETY_LINES].join("\n")}\n`);
  }
  return reading.quality.usable ? 0 : 1;
}
