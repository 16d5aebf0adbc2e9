import { DeckFile } from "../../vision/contract/index.ts";
import { readJson } from "../json-file.ts";
import { UsageError } from "../usage.ts";
import { SAFETY_LINES } from "../words.ts";

/** Print how to set up a table, with the check values of this deck, or as data to record against. @returns exit code 0. */
export async function setup(options: { deck?: string; json?: boolean }): Promise<number> {
  const file = options.deck === undefined ? null : await readJson(options.deck, DeckFile, "deck file");
  const vision = await import("../../vision/index.ts"); // loads OpenCV: only for those who need it
  let deck: ReturnType<typeof vision.describeDeck>;
  try {
    deck = vision.describeDeck(file);
  } catch (error) {
    if (error instanceof vision.NotesError) throw new UsageError(`The deck file cannot be used. ${error.message}`);
    throw error;
  }
  const steps = vision.setupFor(deck);
  if (options.json) {
    process.stdout.write(`${JSON.stringify(steps)}\n`);
    return 0;
  }
  const said = steps.flatMap(({ title, how, checks, caution, basis }, i) => [
    `${i + 1}. ${title}`,
    ...how.map((line) => `   ${line}`),
    ...checks.map((check) => `   Check ${check.name}: ${vision.rangeOf(check)}`),
    `   Caution: ${caution}`,
    `   Rests on: ${basis.source} (${basis.kind})`,
    "",
  ]);
  const whose = file ? `Setting up ${deck.file.name}` : "Setting up a table; with --deck its own set points are used";
  process.stdout.write(`${[whose, "", ...said, ...SAFETY_LINES].join("\n")}\n`);
  return 0;
}
