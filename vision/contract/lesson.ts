import { z } from "zod";
import { DeckFault, Reference } from "./gallery.ts";
import { Hint } from "./reading.ts";
import { listOf, MarkedEdge, Product } from "./shapes.ts";
import { Id, Time } from "./stored.ts";

/** Lessons: look at a deck, say where the bands lie and what is wrong; then the truth. */

const Words = z.string().trim().min(1).max(200);
const Text = z.string().trim().max(2000);
const ReferenceId = Reference.shape.id;

export const NewLesson = z.strictObject({
  name: Words,
  note: Text.default(""),
  /** In the order in which they are shown. */
  references: z.array(ReferenceId).min(1).max(100),
});
export type NewLesson = z.infer<typeof NewLesson>;
export const Lesson = z.strictObject({
  id: Id,
  name: Words,
  note: Text,
  references: z.array(ReferenceId),
  person: Id,
  madeAt: Time,
});
export type Lesson = z.infer<typeof Lesson>;
export const LessonList = listOf(Lesson);

/** What a person says of one deck: where each band begins and ends, mm along the outlet, what is wrong, and what to do. */
const Between = z.tuple([Product, Product]);
/** One change: what, and which way; `hold` for what has no way, such as levelling. */
export const LessonChange = z.strictObject({ control: Hint.shape.control, direction: Hint.shape.direction });
export type LessonChange = z.infer<typeof LessonChange>;
export const NewLessonTry = z.strictObject({
  /** Null: outside any lesson. */
  lesson: Id.nullable().default(null),
  reference: ReferenceId,
  fault: DeckFault,
  edges: z.array(MarkedEdge).max(6),
  /** Where splitters should stand, mm along the outlet. */
  splitters: z
    .array(z.strictObject({ between: Between, atMm: z.number() }))
    .max(2)
    .default([]),
  /** What should be changed first. */
  change: LessonChange.nullable().default(null),
});
export type NewLessonTry = z.infer<typeof NewLessonTry>;

/** How near that came to the truth. */
export const LessonScore = z.strictObject({
  faultRight: z.boolean(),
  fault: DeckFault,
  /** Each true edge; `saidMm` null: it was not marked. */
  edges: z.array(
    MarkedEdge.extend({
      saidMm: z.number().nullable(),
      offMm: z.number().min(0).nullable(),
      points: z.number().min(0).max(1),
    }),
  ),
  /** Marked where there is none. */
  extra: z.array(MarkedEdge),
  /** Where bands that follow each other divide; `saidMm` null: no splitter was set there. */
  splitters: z
    .array(
      z.strictObject({
        between: Between,
        atMm: z.number(),
        saidMm: z.number().nullable(),
        offMm: z.number().min(0).nullable(),
        points: z.number().min(0).max(1),
      }),
    )
    .default([]),
  /** Whether the change is one that mends the fault, and which do; null: none was said. */
  change: z
    .strictObject({ right: z.boolean(), could: z.array(LessonChange) })
    .nullable()
    .default(null),
  medianMm: z.number().min(0).nullable(),
  /** Mean over fault, edges, splitters and change, as far as they are there and were said. */
  score: z.number().min(0).max(1),
});
export type LessonScore = z.infer<typeof LessonScore>;
export const LessonTry = z.strictObject({
  id: Id,
  person: Id,
  at: Time,
  lesson: Id.nullable(),
  reference: ReferenceId,
  score: LessonScore,
});
export type LessonTry = z.infer<typeof LessonTry>;
export const LessonTryList = listOf(LessonTry);

/** How people of a site did: one line for each person and lesson, the latest first. */
export const LessonProgress = z.strictObject({
  items: z.array(
    z.strictObject({
      person: Id,
      name: z.string(),
      /** Null: outside any lesson; or the lesson is gone, and `lessonName` with it. */
      lesson: Id.nullable(),
      lessonName: z.string().nullable(),
      decks: z.number().int(),
      /** Mean of all, and of the latest five; 0 to 1. */
      score: z.number().min(0).max(1),
      lately: z.number().min(0).max(1),
      last: Time,
    }),
  ),
});
export type LessonProgress = z.infer<typeof LessonProgress>;
