import {
  type Lesson,
  type LessonProgress,
  LessonScore,
  type LessonTry,
  NewLesson,
  type NewLessonTry,
} from "../../vision/contract/index.ts";
import { RequestError } from "../problems.ts";
import type { Caller } from "./caller.ts";
import type { Db } from "./database.ts";
import { newId, now } from "./naming.ts";
import { type Ask, newestFirst, type Page, pageOf } from "./pages.ts";
import type { Row } from "./tables.ts";

/** Most tries that are looked through for everybody's progress, and how many of one's last are `lately`. */
const MOST_LOOKED_AT = 5000;
const LATELY = 5;

/** Lessons of a site, and how people did in them. */
export class Lessons {
  readonly #db: Db;

  constructor(db: Db) {
    this.#db = db;
  }

  async add(caller: Caller, lesson: NewLesson, id = newId()): Promise<Lesson> {
    const row = {
      id,
      site_id: caller.site,
      person_id: caller.person,
      made_at: now(),
      name: lesson.name,
      lesson_json: JSON.stringify(lesson),
    };
    await this.#db
      .insertInto("lessons")
      .values(row)
      .onConflict((on) => on.column("id").doNothing())
      .execute();
    return tell(row);
  }

  async list({ site }: Caller, ask: Ask): Promise<Page<Lesson>> {
    const rows = await this.#db
      .selectFrom("lessons")
      .selectAll()
      .where("site_id", "=", site)
      .$call(newestFirst(ask, "made_at", "id"))
      .execute();
    return pageOf(rows, ask, (row) => [row.made_at, row.id], tell);
  }

  /** @throws {RequestError} `not-found`. */
  async one({ site }: Caller, id: string): Promise<Lesson> {
    const query = this.#db.selectFrom("lessons").selectAll().where("site_id", "=", site).where("id", "=", id);
    const row = await query.executeTakeFirst();
    if (!row) throw new RequestError("not-found", "There is no such lesson here.");
    return tell(row);
  }

  /** @throws {RequestError} `not-found`. What people did in it stays. */
  async remove({ site }: Caller, id: string): Promise<void> {
    const gone = await this.#db
      .deleteFrom("lessons")
      .where("site_id", "=", site)
      .where("id", "=", id)
      .returning("id")
      .execute();
    if (gone.length === 0) throw new RequestError("not-found", "There is no such lesson here.");
  }

  async keepTry(
    caller: Caller,
    { lesson, reference }: NewLessonTry,
    score: LessonScore,
    id = newId(),
  ): Promise<LessonTry> {
    const kept: Kept = { lesson, reference, score };
    const row = {
      id,
      site_id: caller.site,
      person_id: caller.person,
      lesson: lesson ?? "",
      at: now(),
      try_json: JSON.stringify(kept),
    };
    await this.#db
      .insertInto("lesson_tries")
      .values(row)
      .onConflict((on) => on.column("id").doNothing())
      .execute();
    return tellTry(row);
  }

  /** How everybody of the site did, by person and lesson, the latest first; of the latest tries, as many as are looked at. */
  async progress({ site }: Caller): Promise<LessonProgress["items"]> {
    const rows = await this.#db
      .selectFrom("lesson_tries")
      .innerJoin("people", "people.id", "lesson_tries.person_id")
      .leftJoin("lessons", "lessons.id", "lesson_tries.lesson")
      .select(["lesson_tries.person_id", "people.name", "lesson_tries.lesson", "lessons.name as lesson_name"])
      .select(["lesson_tries.at", "lesson_tries.try_json"])
      .where("lesson_tries.site_id", "=", site)
      .orderBy("lesson_tries.at", "desc")
      .orderBy("lesson_tries.id", "desc")
      .limit(MOST_LOOKED_AT)
      .execute();
    const groups = new Map<string, typeof rows>();
    for (const row of rows) {
      const key = `${row.person_id} ${row.lesson}`;
      const own = groups.get(key);
      if (own) own.push(row);
      else groups.set(key, [row]);
    }
    return [...groups.values()].map((own) => {
      const { person_id: person, name, lesson, lesson_name: lessonName, at: last } = own[0]!;
      const scores = own.map(({ try_json }) => (JSON.parse(try_json) as Kept).score.score);
      const of = { person, name, lesson: lesson || null, lessonName, last };
      return { ...of, decks: own.length, score: meanOf(scores), lately: meanOf(scores.slice(0, LATELY)) };
    });
  }

  /** @param person  Whose tries; null: everybody's of the site. The latest first. */
  async tries({ site }: Caller, ask: Ask, person: string | null): Promise<Page<LessonTry>> {
    const all = this.#db.selectFrom("lesson_tries").selectAll().where("site_id", "=", site);
    const rows = await (person === null ? all : all.where("person_id", "=", person))
      .$call(newestFirst(ask, "at", "id"))
      .execute();
    return pageOf(rows, ask, (row) => [row.at, row.id], tellTry);
  }
}

const meanOf = (scores: readonly number[]) =>
  Math.round((1e4 * scores.reduce((sum, score) => sum + score, 0)) / scores.length) / 1e4;
type Kept = Pick<LessonTry, "lesson" | "reference" | "score">;
const tell = (row: Row<"lessons">): Lesson => ({
  id: row.id,
  person: row.person_id,
  madeAt: row.made_at,
  ...NewLesson.parse(JSON.parse(row.lesson_json)),
});
function tellTry(row: Row<"lesson_tries">): LessonTry {
  const { lesson, reference, score } = JSON.parse(row.try_json) as Kept;
  return { id: row.id, person: row.person_id, at: row.at, lesson, reference, score: LessonScore.parse(score) };
}
