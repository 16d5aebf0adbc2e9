import { z } from "zod";
import { DeckFault, Reference } from "./gallery.ts";
import { listOf, MarkedEdge } from "./shapes.ts";
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

/** What a person says of one deck: where each band begins and ends, mm along the outlet, and what is wrong. */
export const NewLessonTry = z.strictObject({
  /** Null: outside any lesson. */
  lesson: Id.nullable().default(null),
  reference: ReferenceId,
  fault: DeckFault,
  edges: z.array(MarkedEdge).max(6),
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
  medianMm: z.number().min(0).nullable(),
  /** Half for the fault, half for the edges; all for the fault on a deck without edges. */
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
