import { answers, offSetPoint } from "./advice/answers.ts";
import { bestChanges } from "./advice/best-change.ts";
import {
  bandConfidence,
  CAUTIONS,
  type Case,
  type Draft,
  fanSeen,
  hold,
  ORDER,
  outletLength,
  rounded,
  SURE,
  share,
  total,
} from "./advice/case.ts";
import { pooled } from "./advice/pooled.ts";
import { splittersOff } from "./advice/splitters.ts";
import { steadied } from "./advice/steadied.ts";
import { twinOf } from "./advice/twin-case.ts";
import type { Hint, Reading } from "./contract/index.ts";
import { asShare, hintOf, said, type Text } from "./said.ts";
import { SOURCES } from "./sources.ts";
import type { Deck, Notes } from "./stages.ts";

/** A change that gains less than this share of what another gains does not go before it, whatever the trade's order. */
const FAR_LESS = 0.2;
/** A twin that misses the bands it was fitted to by more than this, mm, has nothing to say of this deck. */
const MISFIT_MM = 80;

/**
 * What to change next, best first; do one, then look again. Never empty: `none` says leave it as it is.
 *
 * Symptoms come first as the trade orders them; then what the twin expects a gain from, then set points and splitters. No
 * hint on water, feed or level when the deck is stopped, and never two hints that pull one control both ways.
 */
export function advise(reading: Reading, deck: Deck, notes: Notes): Hint[] {
  if (!reading.quality.usable) return [anotherPhoto(reading)];
  const seen: Case = { reading, deck, notes };
  const fitted = twinOf(seen);
  const twin = fitted && fitted.fit.misfitMm <= MISFIT_MM ? fitted : null;
  const drafts = [
    ...answers(seen, twin),
    ...(twin ? bestChanges(seen, twin) : []),
    ...offSetPoint(seen),
    ...splittersOff({ ...seen, reading: pooled(seen) }, twin),
  ];
  const hints: Hint[] = [];
  for (const hint of steadied(ranked(drafts), seen)) {
    const taken = hints.some((h) => h.control === hint.control && h.target === hint.target);
    const other = hint.direction === "lower" ? ["raise", "hold"] : ["lower"];
    const waterBothWays = isWater(hint) && hints.some((h) => isWater(h) && other.includes(h.direction));
    if (!taken && !waterBothWays) hints.push(hint);
  }
  return hints.length > 0 ? hints : [cannotTell(seen) ?? leaveIt(seen)];
}

const isWater = ({ control }: Hint) => control === "washWater" || control === "crossSlope" || control === "washPipe";

/** The trade's order, but what gains far less than a later one goes after it. Like ones keep their order. */
function ranked(drafts: readonly Draft[]): Draft[] {
  const most = Math.max(0, ...drafts.map(({ gain }) => gain ?? 0));
  const late = ({ gain }: Draft) => (gain !== null && gain < FAR_LESS * most ? 1 : 0);
  return drafts.toSorted((a, b) => late(a) - late(b) || ORDER.indexOf(a.order) - ORDER.indexOf(b.order));
}

function anotherPhoto({ quality }: Reading): Hint {
  const unnamed = said("said.why.unreadable");
  const hint = hintOf({
    ...hold("inspect", "photo"),
    because: quality.issues.length > 0 ? quality.issues.map((issue) => issue.said ?? unnamed) : [unnamed],
    evidence: {},
    expect: said("said.expect.newPhoto"),
    lookAgainMinutes: 1,
    caution: CAUTIONS.photo,
    basis: [SOURCES.photo],
    confidence: 1,
  });
  // issues of an older reading have their English words alone
  return quality.issues.length > 0 ? { ...hint, because: quality.issues.map(({ say }) => say) } : hint;
}

/** Where a band is seen but unsurely, no change is no finding: which photo would tell. */
function cannotTell(seen: Case): Hint | null {
  const { reading, deck } = seen;
  const unsure = reading.bands.filter((band) => band.confidence < SURE || !fanSeen(reading));
  const beside = deck.splitters.some((s) => s.movable && unsure.some(({ kind }) => s.between.includes(kind)));
  const doubtful = beside || !fanSeen(reading) || leaveIt(seen).confidence < SURE;
  if (reading.deckState === "stopped" || unsure.length === 0 || !doubtful) return null;
  const least = Math.min(...unsure.map(({ confidence }) => confidence));
  return hintOf({
    ...hold("inspect", "photo"),
    because: [said("said.why.bandsUnsure", { sure: asShare(least) }), said("said.why.photoThatTells")],
    evidence: { leastSure: rounded(least) },
    expect: said("said.expect.fan"),
    lookAgainMinutes: 1,
    caution: CAUTIONS.photo,
    basis: [SOURCES.photo],
    confidence: share(1 - least),
  });
}

function leaveIt({ reading, deck }: Case): Hint {
  const stopped = reading.deckState === "stopped";
  const judged = reading.splitters.filter((s) => s.suggestedMm !== null && s.errorMm !== null).length;
  const hidden = Math.min(1, total(reading.outletUnseenMm) / outletLength(deck));
  const because: Text[] = [said(judged > 0 ? "said.why.splittersGood" : "said.why.nothing")];
  if (stopped) because.push(said("said.why.stopped"));
  return hintOf({
    ...hold("none"),
    because,
    evidence: { splittersJudged: judged, outletSeenShare: rounded(1 - hidden) },
    expect: said("said.expect.bandsStay"),
    lookAgainMinutes: 30,
    caution: null,
    basis: [SOURCES.order],
    confidence: share(bandConfidence(reading) * (1 - hidden)),
  });
}
