import { DeckFile, type DeckFileInput, fieldFault } from "../vision/contract/index.ts";
import { saidWords } from "./said.ts";
import { given } from "./units.ts";
import { say } from "./words.ts";

/** What the page must know of a deck to ask for its corners. */

export type Corner = readonly [x: number, y: number];
export type Hand = "right" | "left";

/** What the person says about the deck. */
export interface DeckEntry {
  /** Length and width were measured or read from the deck; otherwise results are per cent of the outlet. */
  readonly sizeKnown: boolean;
  readonly lengthMm: number;
  readonly widthMm: number;
  readonly hand: Hand;
  /** A loaded deck file; its size and hand stand until it is taken away. */
  readonly file: DeckFile | null;
}
export const FIRST_DECK: DeckEntry = { sizeKnown: false, lengthMm: 1800, widthMm: 900, hand: "right", file: null };

/** Splitters of the deck, and where its file says they stand; of a deck entered by hand two, where the person says. */
export function splittersOf(entry: DeckEntry): readonly { readonly name: string; readonly atMm?: number }[] {
  if (entry.file) return entry.file.splitters ?? [];
  return entry.sizeKnown ? [{ name: "upper" }, { name: "lower" }] : [];
}

/** Where splitters stand, outlet mm, by name, as the person says. */
type Standing = Readonly<Record<string, number>>;

/**
 * The deck to send with the photo, or null when the person knows nothing that a deck file would need.
 *
 * @param standing  Goes before what the deck file says of its splitters; launders that meet at one move along.
 */
export function deckToSend(entry: DeckEntry, standing: Standing = {}): DeckFileInput | null {
  if (entry.file) return withSplittersAt(entry.file, standing);
  if (!entry.sizeKnown) return null;
  const { upper, lower } = standing;
  const both = upper !== undefined && lower !== undefined && upper < lower;
  return {
    schemaVersion: 1,
    name: "Entered by hand",
    hand: entry.hand,
    lengthMm: entry.lengthMm,
    widthMm: entry.widthMm,
    ...(both && {
      splitters: [
        { name: "upper", between: ["dense", "middling"], atMm: upper },
        { name: "lower", between: ["middling", "light"], atMm: lower },
      ],
    }),
  };
}

/** An edge of a launder this near to a splitter goes with it, mm. */
const MEETS_MM = 1;
function withSplittersAt(file: DeckFile, standing: Standing): DeckFile {
  const { splitters = [], launders } = file;
  if (splitters.every(({ name, atMm }) => (standing[name] ?? atMm) === atMm)) return file;
  const moved = (mm: number) => {
    const own = splitters.find(({ atMm }) => Math.abs(atMm - mm) <= MEETS_MM);
    return (own && standing[own.name]) ?? mm;
  };
  return {
    ...file,
    splitters: splitters.map((one) => ({ ...one, atMm: standing[one.name] ?? one.atMm })),
    ...(launders && {
      launders: launders.map((one) => ({ ...one, fromMm: moved(one.fromMm), toMm: moved(one.toMm) })),
    }),
  };
}

/** The deck's outline in deck mm, in the order in which corners are asked for. */
export function outlineOf(entry: DeckEntry): readonly Corner[] {
  const { lengthMm, widthMm, outline } = entry.file ?? { ...entry, outline: undefined };
  return (
    outline ?? [
      [0, 0],
      [lengthMm, 0],
      [lengthMm, widthMm],
      [0, widthMm],
    ]
  );
}
export const handOf = (entry: DeckEntry): Hand => entry.file?.hand ?? entry.hand;

/** A first guess that people drag from: the outline laid over the middle of the photo, drive end where the hand puts it. */
export function firstCorners(entry: DeckEntry, widthPx: number, heightPx: number): Corner[] {
  const outline = outlineOf(entry);
  const [length, width] = [Math.max(...outline.map((p) => p[0])), Math.max(...outline.map((p) => p[1]))];
  return outline.map(([x, y]) => {
    const along = handOf(entry) === "right" ? x / length : 1 - x / length;
    return [widthPx * (0.18 + 0.64 * along), heightPx * (0.28 + 0.44 * (y / width))];
  });
}

/** The same four points for the other hand: drive end and product end change places. */
export function mirrored(corners: readonly Corner[]): Corner[] | null {
  const [a, b, c, d] = corners;
  return corners.length === 4 ? [b!, a!, d!, c!] : null;
}

/** Twice the corners' area: negative when they turn anticlockwise in the photo, as a left-hand deck's do. */
export const signedArea = (corners: readonly Corner[]): number =>
  corners.reduce((sum, [x, y], i) => {
    const [u, v] = corners[(i + 1) % corners.length]!;
    return sum + x * v - u * y;
  }, 0);

/** Which corner is which, in words a person at the table uses. */
export function cornerWords(entry: DeckEntry): string[] {
  const outline = outlineOf(entry);
  const [length, width] = [Math.max(...outline.map((p) => p[0])), Math.max(...outline.map((p) => p[1]))];
  return outline.map(([x, y]) => {
    const end =
      x <= length * 0.02
        ? say("corners.driveEnd")
        : x >= length * 0.98
          ? say("corners.productEnd")
          : say("corners.fromDriveEnd", { mm: given(Math.round(x), "mm") });
    const side =
      y <= width * 0.02
        ? say("corners.waterSide")
        : y >= width * 0.98
          ? say("corners.tailingsSide")
          : say("corners.downSlope", { mm: given(Math.round(y), "mm") });
    return say("corners.place", { end, side });
  });
}

/** A deck file from the text of a file; throws words that say what is wrong with it. */
export function parseDeckFile(text: string): DeckFile {
  let data: unknown;
  try {
    data = JSON.parse(text);
  } catch {
    throw new Error(say("deck.notJson"));
  }
  const checked = DeckFile.safeParse(data);
  if (checked.success) return checked.data;
  const faults = checked.error.issues.slice(0, 3).map((issue) => saidWords("", fieldFault(issue)).words);
  throw new Error(say("deck.fileFault", { faults: faults.join(" ") }));
}
