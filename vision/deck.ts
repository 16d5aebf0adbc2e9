import { fieldFault } from "./contract/field-fault.ts";
import { DeckFile, type DeckFileInput, type Launder, type Splitter } from "./contract/index.ts";
import { NotesError } from "./errors.ts";
import { type Pair, pathLength, selfCrossing, signedArea } from "./geometry.ts";
import { asMm, said, type Text } from "./said.ts";
import { type Deck, deckPoint } from "./stages.ts";

/** Stands in when nobody gave a deck file: a common full-size shape, so that shares of the outlet come out right. */
const ASSUMED: DeckFileInput = { schemaVersion: 1, name: "Deck of unknown size", lengthMm: 2000, widthMm: 1000 };
/** Where feed comes on when the deck file does not say: this share of the high side, from the drive end (common practice). */
export const FEED_SHARE: Pair = [0.02, 0.25];

/**
 * Check a deck file and fill in what follows from the rest: outline, outlet path, feed stretch, launders.
 *
 * @param file  `null` when there is none: shape assumed, `scale` says so, and people are shown shares, never mm.
 * @throws {NotesError} `deck-file`, naming the field and what to do.
 */
export function describeDeck(file: DeckFileInput | null): Deck {
  const parsed = DeckFile.safeParse(file ?? ASSUMED);
  if (!parsed.success) {
    throw wrong(fieldFault(parsed.error.issues[0]!));
  }
  const deck = parsed.data;
  const { lengthMm, widthMm } = deck;
  const outline: Pair[] = deck.outline ?? [
    [0, 0],
    [lengthMm, 0],
    [lengthMm, widthMm],
    [0, widthMm],
  ];
  checkOutline(outline, lengthMm, widthMm);
  if (outline.length > 4 && !deck.outletPath) {
    throw wrong(said("said.deckFile.noPath"));
  }
  const outletPath: Pair[] = deck.outletPath ?? [outline[1]!, outline[2]!, outline[3]!];
  const outletMm = pathLength(outletPath);
  checkSplitters(deck.splitters, outletMm);
  const feedBox = deck.feedBox ?? FEED_SHARE.map((share): Pair => [share * lengthMm, outline[0]![1]]);
  return {
    file: deck,
    scale: file ? "deck file" : "assumed",
    hand: deck.hand,
    lengthMm,
    widthMm,
    outline: outline.map(deckPoint),
    outletPath: outletPath.map(deckPoint),
    feed: { from: deckPoint(feedBox[0]!), to: deckPoint(feedBox[1]!) },
    splitters: [...deck.splitters].sort((a, b) => a.atMm - b.atMm),
    launders: deck.launders ?? laundersFrom(deck.splitters, outletMm),
  };
}

const wrong = (what: Text) =>
  new NotesError("deck-file", [...said("said.deckFile.in"), ...what, ...said("said.deckFile.correct")]);

function checkOutline(outline: readonly Pair[], lengthMm: number, widthMm: number) {
  if (outline.some(([x, y]) => x < 0 || y < 0)) throw wrong(said("said.deckFile.negative"));
  if (selfCrossing(outline)) throw wrong(said("said.deckFile.crossing"));
  if (signedArea(outline) <= 0) {
    throw wrong(said("said.deckFile.wrongWay"));
  }
  const [reachX, reachY] = [Math.max(...outline.map(([x]) => x)), Math.max(...outline.map(([, y]) => y))];
  if (Math.abs(reachX - lengthMm) > 1 || Math.abs(reachY - widthMm) > 1) {
    const sizes = { reachX: asMm(reachX), reachY: asMm(reachY), length: asMm(lengthMm), width: asMm(widthMm) };
    throw wrong(said("said.deckFile.size", sizes));
  }
}

function checkSplitters(splitters: readonly Splitter[], outletMm: number) {
  for (const { name, atMm, minMm = 0, maxMm = outletMm } of splitters) {
    if (atMm > outletMm) {
      throw wrong(said("said.deckFile.splitterOff", { name, at: asMm(atMm), outlet: asMm(Math.round(outletMm)) }));
    }
    if (minMm > maxMm) throw wrong(said("said.deckFile.splitterLimits", { name }));
  }
}

/** One launder between each two splitters; the first takes dense, the last light. */
function laundersFrom(splitters: readonly Splitter[], outletMm: number): Launder[] {
  const sorted = [...splitters].sort((a, b) => a.atMm - b.atMm);
  const ends = [0, ...sorted.map((s) => s.atMm), outletMm];
  return ends.slice(1).map((toMm, i) => ({
    name: String.fromCharCode(65 + i),
    product: i < sorted.length ? sorted[i]!.between[0] : (sorted.at(-1)?.between[1] ?? "light"),
    fromMm: ends[i]!,
    toMm,
  }));
}
