import * as z from "zod";
import {
  Alike,
  Lesson,
  LessonList,
  LessonTry,
  LessonTryList,
  MarkUp,
  type MarkUpFile,
  type NewLesson,
  type NewLessonTry,
  type NewReviewAnswer,
  type NewReviewAsk,
  Reading,
  ReadingList,
  ReferenceList,
  ReviewAnswer,
  ReviewAnswerList,
  ReviewAsk,
  ReviewQueue,
  ShownReference,
} from "../vision/contract/index.ts";
import { ask } from "./api.ts";

/** Calls about reviews, the gallery and lessons. A key sent twice writes once. */

const post = (body: unknown) => ({
  method: "POST",
  body: JSON.stringify(body),
  headers: { "content-type": "application/json", "idempotency-key": crypto.randomUUID() },
});

export const reviewQueue = async () => (await ask(ReviewQueue, "api/review-queue?limit=50", {})).items;
export async function readingThere(id: string): Promise<Reading | null> {
  const told = await ask(z.union([Reading, z.object({ id: z.string() })]), `api/readings/${id}`, {});
  return "schemaVersion" in told ? told : null;
}
export const casePicture = (id: string) => `api/readings/${id}/small.jpg`;
export const sharpPicture = (id: string) => `api/readings/${id}/overlay.jpg`;
export const classesPicture = (id: string) => `api/readings/${id}/classes.png`;
export const answersTo = async (id: string) =>
  (await ask(ReviewAnswerList, `api/readings/${id}/answers?limit=50`, {})).items;
export const sendAnswer = (id: string, answer: z.input<typeof NewReviewAnswer>) =>
  ask(ReviewAnswer, `api/readings/${id}/answers`, post(answer));
export const sendAsk = (id: string, asked: NewReviewAsk) => ask(ReviewAsk, `api/readings/${id}/asks`, post(asked));
export const sendMarkUp = (id: string, markUp: z.input<typeof MarkUpFile>) =>
  ask(MarkUp, `api/readings/${id}/mark-ups`, post(markUp));
/** The server's newest reading of a photo; null where it has none. */
export const newestThere = async (photo: string) =>
  (await ask(ReadingList, `api/readings?photo=${photo}&limit=1`, {})).items[0]?.id ?? null;

export function references(filter: Readonly<Record<string, string>>, cursor: string | null, limit = 12) {
  const query = new URLSearchParams({ ...filter, limit: String(limit), ...(cursor && { cursor }) });
  return ask(ReferenceList, `api/gallery?${query}`, {});
}
export const referenceOf = (id: string) => ask(ShownReference, `api/gallery/${id}`, {});
export const alikeTo = (reading: Reading) => ask(Alike, "api/gallery/alike", post({ reading, most: 3 }));

export const lessons = async () => (await ask(LessonList, "api/lessons?limit=50", {})).items;
export const makeLesson = (lesson: z.input<typeof NewLesson>) => ask(Lesson, "api/lessons", post(lesson));
export const sendTry = (said: NewLessonTry) => ask(LessonTry, "api/lesson-tries", post(said));
export const ownTries = async () => (await ask(LessonTryList, "api/lesson-tries?limit=200", {})).items;
