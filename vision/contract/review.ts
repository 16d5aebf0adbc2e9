import { z } from "zod";
import { ContentId } from "./http.ts";
import { Hint } from "./reading.ts";
import { listOf } from "./shapes.ts";
import { Id, Time } from "./stored.ts";
import { Told } from "./told.ts";

/** Readings that need eyes, and what people far away answer to them. */

const Note = z.string().trim().max(4000);

/** Why somebody at the table wants a reading looked at. */
export const REVIEW_WHYS = ["didNotHelp", "notSure", "looksWrong", "other"] as const;
export const NewReviewAsk = z.strictObject({ why: z.enum(REVIEW_WHYS), note: Note.nullable().default(null) });
export type NewReviewAsk = z.infer<typeof NewReviewAsk>;
export const ReviewAsk = z.strictObject({
  id: Id,
  reading: ContentId,
  person: Id,
  at: Time,
  why: z.enum(REVIEW_WHYS),
  note: Note.nullable(),
});
export type ReviewAsk = z.infer<typeof ReviewAsk>;

/** Sentences that the page has in every language: said by name, read in the operator's own. */
export const REVIEW_PHRASES = [
  "wellDone",
  "wait",
  "smallSteps",
  "photoAgain",
  "checkWater",
  "checkFeed",
  "checkLevel",
  "checkSplitters",
  "wetTheDeck",
  "runAgain",
  "writeDown",
  "callMe",
] as const;
const Change = Hint.pick({ control: true, target: true, direction: true, amount: true, toMm: true });

/** What a reviewer says to a reading's hint: it stands, another change is better, or it should not be done. */
export const NewReviewAnswer = z
  .strictObject({
    verdict: z.enum(["confirmed", "changed", "refused"]),
    /** Which of the reading's hints, from 0; null: none of them. */
    hint: z.number().int().min(0).nullable().default(null),
    /** The change that is better. */
    change: Change.nullable().default(null),
    phrases: z.array(z.enum(REVIEW_PHRASES)).max(REVIEW_PHRASES.length).default([]),
    note: Note.nullable().default(null),
  })
  .refine(({ verdict, change }) => (verdict === "changed") === (change !== null), {
    path: ["change"],
    message: "must be there where the hint is changed, and only there",
  });
export type NewReviewAnswer = z.infer<typeof NewReviewAnswer>;
export const ReviewAnswer = z.strictObject({
  id: Id,
  reading: ContentId,
  person: Id,
  personName: z.string(),
  at: Time,
  verdict: z.enum(["confirmed", "changed", "refused"]),
  hint: z.number().int().nullable(),
  /** The hint that it is about. */
  said: Hint.nullable(),
  change: Change.nullable(),
  phrases: z.array(z.enum(REVIEW_PHRASES)),
  note: Note.nullable(),
});
export type ReviewAnswer = z.infer<typeof ReviewAnswer>;
export const ReviewAnswerList = listOf(ReviewAnswer);
export const ReviewAskList = listOf(ReviewAsk);

/** Why a reading stands where it does in the queue; `weight` adds up. */
export const QueueReason = z.strictObject({
  kind: z.enum([
    "asked",
    "didNotHelp",
    "hintNotDone",
    "unsureBands",
    "unsureHint",
    "photoLimits",
    "suddenMove",
    "denseLost",
    "alarm",
  ]),
  weight: z.number().min(0),
  /** What it is measured by: a share 0 to 1, or mm for `suddenMove`; null where it is said by a person. */
  value: z.number().nullable(),
  /** Of an alarm: its likely cause. */
  cause: Told.nullable().default(null),
});
export type QueueReason = z.infer<typeof QueueReason>;
export const QueueItem = z.strictObject({
  reading: ContentId,
  photo: ContentId,
  name: z.string(),
  madeAt: Time,
  usable: z.boolean(),
  weight: z.number().min(0),
  reasons: z.array(QueueReason),
  /** What the people at the table asked, the latest first. */
  asks: z.array(ReviewAsk),
  answers: z.number().int().min(0),
});
export type QueueItem = z.infer<typeof QueueItem>;
export const ReviewQueue = listOf(QueueItem);
