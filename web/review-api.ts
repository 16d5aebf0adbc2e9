import type * as z from "zod";
import {
  Agreement,
  Alike,
  GalleryChoices,
  Lesson,
  LessonList,
  LessonProgress,
  LessonTry,
  LessonTryList,
  MarkUp,
  MarkUpList,
  type NewLesson,
  type NewLessonTry,
  type NewMarkUp,
  type NewReference,
  type NewReviewAnswer,
  type NewReviewAsk,
  PackLook,
  PackTaken,
  PersonList,
  type Reading,
  ReadingList,
  ReferenceList,
  ReviewAnswer,
  ReviewAnswerList,
  ReviewAsk,
  ReviewQueue,
  ShownReference,
} from "../vision/contract/index.ts";
import { ask, fetchSample, readingUrl } from "./api.ts";

/** Calls about reviews, the gallery and lessons. A key sent twice writes once. */

const post = (body: unknown) => ({
  method: "POST",
  body: JSON.stringify(body),
  headers: { "content-type": "application/json", "idempotency-key": crypto.randomUUID() },
});

export const reviewQueue = async () => (await ask(ReviewQueue, "api/review-queue?limit=50", {})).items;
export const answersTo = async (id: string) =>
  (await ask(ReviewAnswerList, `${readingUrl(id)}/answers?limit=50`, {})).items;
export const sendAnswer = (id: string, answer: z.input<typeof NewReviewAnswer>) =>
  ask(ReviewAnswer, `${readingUrl(id)}/answers`, post(answer));
export const sendAsk = (id: string, asked: NewReviewAsk) => ask(ReviewAsk, `${readingUrl(id)}/asks`, post(asked));
export const sendMarkUp = (id: string, markUp: z.input<typeof NewMarkUp>) =>
  ask(MarkUp, `${readingUrl(id)}/mark-ups`, post(markUp));
/** @param coco  The file's text, as it is. */
export const sendCoco = (id: string, coco: string) =>
  ask(MarkUp, `${readingUrl(id)}/mark-ups/coco`, { ...post(null), body: coco });
export const markUpsOf = async (id: string) => (await ask(MarkUpList, `${readingUrl(id)}/mark-ups?limit=50`, {})).items;
/** @param other  Another mark-up's id. */
export const agreementOf = (markUp: string, other = "reading") =>
  ask(Agreement, `api/mark-ups/${markUp}/agreement?with=${other}`, {});
export const peopleNames = async () =>
  new Map((await ask(PersonList, "api/people", {})).items.map(({ id, name }) => [id, name]));
/** The server's newest reading of a photo; null where it has none. */
export const newestThere = async (photo: string) =>
  (await ask(ReadingList, `api/readings?photo=${photo}&limit=1`, {})).items[0]?.id ?? null;

export function references(filter: Readonly<Record<string, string>>, cursor: string | null, limit = 12) {
  const query = new URLSearchParams({ ...filter, limit: String(limit), ...(cursor && { cursor }) });
  return ask(ReferenceList, `api/gallery?${query}`, {});
}
export const galleryChoices = () => ask(GalleryChoices, "api/gallery-choices", {});
export const addReference = (said: z.input<typeof NewReference>) => ask(ShownReference, "api/gallery", post(said));
/** @param seed  Any, where it is not said. */
export const makeDeck = (seed: number | undefined) => ask(ShownReference, "api/gallery/made", post({ seed }));
export const referenceOf = (id: string) => ask(ShownReference, `api/gallery/${id}`, {});
export const alikeTo = (reading: Reading) => ask(Alike, "api/gallery/alike", post({ reading, most: 3 }));

const zip = (file: Blob) => ({ method: "POST", body: file, headers: { "content-type": "application/zip" } });
export const lookAtPack = (file: Blob) => ask(PackLook, "api/packs/look", zip(file));
export const takePack = (file: Blob, key: string) => ask(PackTaken, `api/packs?key=${key}`, zip(file));
/** A pack of references that fit, or of one lesson. @throws {Trouble} */
export const packOf = async (of: { readonly lesson: string } | { readonly filter: Readonly<Record<string, string>> }) =>
  fetchSample(
    "lesson" in of ? `api/lessons/${of.lesson}/pack.zip` : `api/packs/gallery.zip?${new URLSearchParams(of.filter)}`,
    new AbortController().signal,
  );

export const lessons = async () => (await ask(LessonList, "api/lessons?limit=50", {})).items;
export const makeLesson = (lesson: z.input<typeof NewLesson>) => ask(Lesson, "api/lessons", post(lesson));
export const sendTry = (said: NewLessonTry) => ask(LessonTry, "api/lesson-tries", post(said));
export const everyonesProgress = async () => (await ask(LessonProgress, "api/lesson-progress", {})).items;
export const ownTries = async () => (await ask(LessonTryList, "api/lesson-tries?limit=200", {})).items;
