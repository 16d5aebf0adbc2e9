import { z } from "zod";
import { Hint, MaterialProfile, Product, Reading, SettingsFile } from "../../vision/contract/index.ts";
import { deckFileFor } from "../deck-beside.ts";
import { readJson } from "../json-file.ts";
import { UsageError } from "../usage.ts";
import { rulerOf } from "../words.ts";

/** What was changed between two readings, as far as the person says; a hint that was followed will do. */
const ChangeFile = z.object({
  control: Hint.shape.control,
  target: z.string().nullable().optional(),
  direction: Hint.shape.direction.optional(),
  amount: Hint.shape.amount.optional(),
  note: z.string().optional(),
});
type ChangeFile = z.infer<typeof ChangeFile>;

/** How far one edge of a band moved along the outlet between two readings, mm. */
export interface EdgeMove {
  readonly kind: Product;
  readonly edge: "from" | "to";
  readonly beforeMm: number;
  readonly afterMm: number;
  /** Positive: toward larger outlet mm. */
  readonly movedMm: number;
  /** One standard error of `movedMm`. */
  readonly errorMm: number;
  /** Whether the move is smaller than two standard errors, so that it may be nothing. */
  readonly withinNoise: boolean;
}

/** A move smaller than this many standard errors happens by chance about once in twenty times. */
const NOISE_ERRORS = 2;

/**
 * How far each outlet edge moved. Errors are independent between photos: their squares add.
 * Where a band leaves in several stretches, its widest one is followed. Edges seen in one reading only are left out.
 */
export function edgeMoves(before: Reading, after: Reading): EdgeMove[] {
  return Product.options.flatMap((kind) => {
    const was = widest(before, kind);
    const is = widest(after, kind);
    if (!was || !is) return [];
    return [
      ...move(kind, "from", was.fromMm, was.fromErrorMm, is.fromMm, is.fromErrorMm),
      ...move(kind, "to", was.toMm, was.toErrorMm, is.toMm, is.toErrorMm),
    ];
  });
}

function move(
  kind: Product,
  edge: "from" | "to",
  was: number,
  wasError: number | null,
  is: number,
  isError: number | null,
) {
  if (wasError === null || isError === null) return []; // an end of the path is no edge
  const tenths = (mm: number) => Math.round(mm * 10) / 10;
  const movedMm = tenths(is - was);
  const errorMm = tenths(Math.hypot(wasError, isError));
  const withinNoise = Math.abs(is - was) < NOISE_ERRORS * Math.hypot(wasError, isError);
  return [{ kind, edge, beforeMm: was, afterMm: is, movedMm, errorMm, withinNoise }];
}

function widest({ bands }: Reading, kind: Product) {
  const stretches = bands.filter((band) => band.kind === kind).flatMap(({ outlet }) => outlet);
  return stretches.sort((a, b) => b.toMm - b.fromMm - (a.toMm - a.fromMm))[0];
}

export interface CompareOptions {
  readonly change?: string;
  readonly deck?: string;
  readonly profile?: string;
  /** What the controls stood at for the first reading. */
  readonly settings?: string;
  readonly json?: boolean;
}

/**
 * Say what changed between two readings of one deck and, with a change file, whether the change helped and what to do next.
 * With settings and profile the move is held against what the transport model expected, and what it learned is printed.
 *
 * @returns exit code 0, or 1 when one of them is unusable.
 */
export async function compare(paths: readonly [string, string], options: CompareOptions): Promise<number> {
  const before = await readJson(paths[0], Reading, "reading");
  const after = await readJson(paths[1], Reading, "reading");
  const change = options.change === undefined ? null : await readJson(options.change, ChangeFile, "change file");
  const unusable = [before, after].find(({ quality }) => !quality.usable);
  if (!unusable) checkSameDeck(before, after);
  const edges = unusable ? [] : edgeMoves(before, after);
  const helped = change && !unusable ? await judge([before, after], paths[0], change, options) : null;
  if (options.json) process.stdout.write(`${JSON.stringify({ edges, change, helped })}\n`);
  else
    process.stdout.write(
      unusable ? `${unusable.photo.name} was unusable: nothing can be compared.\n` : say(before, edges, change, helped),
    );
  return unusable ? 1 : 0;
}

/** Moved against expected, as far as deck, settings and profile tell. */
async function judge(
  [before, after]: readonly [Reading, Reading],
  path: string,
  change: ChangeFile,
  options: CompareOptions,
) {
  const settings =
    options.settings === undefined ? undefined : await readJson(options.settings, SettingsFile, "settings file");
  const profile =
    options.profile === undefined ? undefined : await readJson(options.profile, MaterialProfile, "profile");
  const file = await deckFileFor(path, before, options.deck);
  const vision = await import("../../vision/index.ts"); // loads OpenCV: only for those who need it
  try {
    const deck = vision.describeDeck(file);
    const look = (reading: Reading) => ({ reading, deck, notes: { settings, profile } });
    return vision.didItHelp(look(before), look(after), change);
  } catch (error) {
    if (error instanceof vision.NotesError) throw new UsageError(`The deck file cannot be used. ${error.message}`);
    throw error;
  }
}

function checkSameDeck(before: Reading, after: Reading): void {
  const same = before.grid?.columns === after.grid?.columns && before.grid?.rows === after.grid?.rows;
  if (same && before.scale === after.scale) return;
  throw new UsageError("The two readings are of decks of different size. Read both photos with the same deck file.");
}

type Judged = Awaited<ReturnType<typeof judge>>;

function say(before: Reading, edges: readonly EdgeMove[], change: ChangeFile | null, helped: Judged | null): string {
  const ruler = rulerOf(before);
  const told = edges.map(({ kind, edge, movedMm, errorMm, withinNoise }) => {
    const where = `${kind} band, ${edge === "from" ? "first" : "last"} edge`.padEnd(28);
    const toward = movedMm === 0 ? "" : movedMm > 0 ? " toward the tailings" : " toward the wash-water corner";
    const moved = `${ruler.show(Math.abs(movedMm))} ± ${ruler.show(errorMm)} ${ruler.unit}${toward}`;
    return `  ${where} moved ${moved}: ${withinNoise ? "within noise" : "a real move"}`;
  });
  const real = edges.filter(({ withinNoise }) => !withinNoise).length;
  const first = change
    ? `After the change of ${change.control}${change.note ? ` (${change.note})` : ""}:`
    : "Between the two photos:";
  const last =
    edges.length === 0
      ? "No edge was seen in both photos."
      : real === 0
        ? "Nothing moved by more than the photos can tell (two standard errors)."
        : `${real} of ${edges.length} edges moved by more than two standard errors.`;
  const judged = helped ? ["", "Did it help", ...helpLines(helped, before), `  ${helped.say}`] : [];
  return `${[first, ...told, last, ...judged].join("\n")}\n`;
}

/** Moves of borders with what was expected; mm only where the deck's size is known. */
function helpLines({ borders }: Judged, { scale }: Reading): string[] {
  if (scale === "assumed") return [];
  return borders.map(({ between, say: words, verdict }) => `  ${between[0]} and ${between[1]}: ${words} (${verdict})`);
}
