import { z } from "zod";
import {
  Id,
  Lesson,
  LessonList,
  LessonProgress,
  LessonTry,
  LessonTryList,
  NewLesson,
  NewLessonTry,
  type ShownReference,
} from "../../vision/contract/index.ts";
import { scoreTry } from "../../vision/index.ts";
import { type Endpoint, endpoint } from "../endpoint.ts";
import type { Parts } from "../parts.ts";
import { RequestError } from "../problems.ts";
import type { Caller } from "../storage/caller.ts";
import type { Stock } from "../storage/gallery.ts";
import { askOf, PageQuery } from "../storage/pages.ts";

const At = z.object({ id: Id });

/** Lessons from the gallery, and how one did in them. */
export function lessonRoutes({ data }: Parts, stock: Stock): Endpoint[] {
  const references = async (caller: Caller, ids: readonly string[]): Promise<ShownReference[]> => {
    const shelf = await data.gallery.shelf(caller, await stock.references());
    return ids.map((id) => {
      const found = shelf.references.find((reference) => reference.id === id);
      if (!found)
        throw new RequestError("not-found", `There is no reference ${id} in this gallery. Load the gallery again.`);
      return found;
    });
  };
  return [
    endpoint(
      {
        method: "post",
        path: "/api/lessons",
        right: "teach",
        says: "Make a lesson from references of the gallery, in their order",
        body: NewLesson,
        answer: Lesson,
        status: 201,
      },
      async ({ caller, body, newId }) => {
        await references(caller, body.references);
        return data.lessons.add(caller, body, newId());
      },
    ),
    endpoint(
      {
        method: "get",
        path: "/api/lessons",
        right: "see",
        says: "Lessons, the newest first",
        query: PageQuery,
        answer: LessonList,
      },
      ({ caller, query }) => data.lessons.list(caller, askOf(query)),
    ),
    endpoint(
      { method: "get", path: "/api/lessons/:id", right: "see", says: "One lesson", params: At, answer: Lesson },
      ({ caller, params }) => data.lessons.one(caller, params.id),
    ),
    endpoint(
      {
        method: "delete",
        path: "/api/lessons/:id",
        right: "teach",
        says: "Take a lesson away; what people did in it stays",
        params: At,
        status: 204,
      },
      ({ caller, params }) => data.lessons.remove(caller, params.id),
    ),
    endpoint(
      {
        method: "post",
        path: "/api/lesson-tries",
        right: "work",
        says: "Say what is wrong on a reference and where its bands lie; answers how near that is to the truth",
        body: NewLessonTry,
        answer: LessonTry,
        status: 201,
      },
      async ({ caller, body, newId }) => {
        if (body.lesson !== null) await data.lessons.one(caller, body.lesson);
        const [reference] = await references(caller, [body.reference]);
        return data.lessons.keepTry(caller, body, scoreTry(reference!, body), newId());
      },
    ),
    endpoint(
      {
        method: "get",
        path: "/api/lesson-progress",
        right: "teach",
        says: "How everybody of the site did in lessons, by person and lesson, the latest first",
        answer: LessonProgress,
      },
      async ({ caller }) => ({ items: await data.lessons.progress(caller) }),
    ),
    endpoint(
      {
        method: "get",
        path: "/api/lesson-tries",
        right: "work",
        says: "One's own tries, the latest first",
        query: PageQuery,
        answer: LessonTryList,
      },
      ({ caller, query }) => data.lessons.tries(caller, askOf(query), caller.person),
    ),
  ];
}
