import type { Alarm, QueueItem, QueueReason, Reading } from "../vision/contract/index.ts";
import { edgeMoves } from "./commands/compare.ts";
import type { Waiting } from "./storage/reviews.ts";

/**
 * Which readings need eyes most: how unsure they are and how costly, as weights that add up. Judgement: what a person asks
 * comes before what a number says, and a loss of dense before a doubt.
 */

/** Below this a band or a hint is unsure. */
const SURE = 0.6;
/** An alarm of the charts: after what people ask, before most doubts. */
const ALARM = 2;
/** A smaller share of the dense band outside its launder is not worth a look. */
const LOST = 0.1;
/** An edge that moved less, mm, or less than this many standard errors, did not move suddenly. */
const MOVED_MM = 60;
const MOVED_ERRORS = 4;

/** The queue: whatever was asked or weighs something and has no answer, the heaviest first. */
export function reviewQueue(waiting: readonly Waiting[], alarms: readonly Alarm[] = []): QueueItem[] {
  return waiting
    .map((one) => {
      const reasons = one.answers > 0 && one.asks.length === 0 ? [] : reasonsFor(one, waiting, alarms);
      const weight = round(reasons.reduce((sum, reason) => sum + reason.weight, 0));
      const { id: reading, photo, name, madeAt, asks, answers } = one;
      return { reading, photo, name, madeAt, usable: one.reading.quality.usable, weight, reasons, asks, answers };
    })
    .filter(({ weight }) => weight > 0)
    .sort((a, b) => b.weight - a.weight || (a.madeAt < b.madeAt ? 1 : -1));
}

function reasonsFor(one: Waiting, all: readonly Waiting[], alarms: readonly Alarm[]): QueueReason[] {
  const { reading, asks, taken } = one;
  const reasons: QueueReason[] = [];
  const say = (
    kind: QueueReason["kind"],
    weight: number,
    value: number | null = null,
    cause: QueueReason["cause"] = null,
  ) => reasons.push({ kind, weight: round(weight), value: value === null ? null : round(value), cause });
  if (asks.some(({ why }) => why === "didNotHelp")) say("didNotHelp", 5);
  if (asks.some(({ why }) => why !== "didNotHelp")) say("asked", 4);
  if (taken.some((told) => told !== "as said")) say("hintNotDone", 1);
  const alarm = alarms.find((raised) => raised.reading === one.id);
  if (alarm) say("alarm", ALARM, null, alarm.event.cause.told);
  const lost = denseLost(reading);
  if (lost > LOST) say("denseLost", 3 * lost, lost);
  const move = suddenMove(one, all);
  if (move > 0) say("suddenMove", Math.min(2, move / 150), move);
  const band = Math.min(1, ...reading.bands.map(({ confidence }) => confidence));
  if (band < SURE) say("unsureBands", 2 * (SURE - band) + 0.3, band);
  const hint = reading.advice[0]?.confidence ?? 1;
  if (hint < SURE) say("unsureHint", 2 * (SURE - hint) + 0.2, hint);
  const limits = reading.quality.issues.length;
  if (!reading.quality.usable) say("photoLimits", 0.6);
  else if (limits > 0) say("photoLimits", Math.min(0.6, 0.2 * limits));
  return reasons.sort((a, b) => b.weight - a.weight);
}

/** Share of the dense band that falls into launders of other products. */
function denseLost({ launders }: Reading): number {
  const dense = launders.filter(({ product }) => product === "dense");
  if (dense.length === 0 || !launders.some(({ carried }) => carried.dense > 0)) return 0;
  const all = launders.reduce((sum, { carried }) => sum + carried.dense, 0);
  return 1 - dense.reduce((sum, { carried }) => sum + carried.dense, 0) / all;
}

/** How far an edge moved since the reading before of the same deck, mm; 0 where none moved suddenly. */
function suddenMove({ deck, madeAt, reading }: Waiting, all: readonly Waiting[]): number {
  const before = all.find(
    (other) => deck !== null && other.deck === deck && other.madeAt < madeAt && other.reading.quality.usable,
  );
  if (!before || before.reading.grid?.columns !== reading.grid?.columns) return 0;
  const moves = edgeMoves(before.reading, reading)
    .filter(({ movedMm, errorMm }) => Math.abs(movedMm) > Math.max(MOVED_MM, MOVED_ERRORS * errorMm))
    .map(({ movedMm }) => Math.abs(movedMm));
  return Math.max(0, ...moves);
}

const round = (value: number) => Math.round(value * 1e4) / 1e4;
