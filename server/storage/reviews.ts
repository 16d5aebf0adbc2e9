import {
  NewReviewAnswer as Kept,
  type NewReviewAnswer,
  type NewReviewAsk,
  Reading,
  type ReviewAnswer,
  ReviewAsk,
} from "../../vision/contract/index.ts";
import { RequestError } from "../problems.ts";
import type { Caller } from "./caller.ts";
import type { Db } from "./database.ts";
import { newId, now } from "./naming.ts";
import { type Ask, newestFirst, type Page, pageOf } from "./pages.ts";
import type { Readings } from "./readings.ts";
import type { Row } from "./tables.ts";

/** A reading that may need eyes, with what was said of it. */
export interface Waiting {
  readonly id: string;
  readonly photo: string;
  readonly name: string;
  readonly madeAt: string;
  readonly deck: string | null;
  readonly reading: Reading;
  /** Asked since the last answer. */
  readonly asks: ReviewAsk[];
  readonly answers: number;
  /** What became of its hints, as people said. */
  readonly taken: readonly string[];
}

/** Most readings that are looked through for the queue: the newest, and all that were asked about. */
const MOST_LOOKED_AT = 300;

/** Readings that somebody wants looked at, and the answers. Only ever added to: two reviewers lose nothing. */
export class Reviews {
  readonly #db: Db;
  readonly #readings: Readings;

  constructor(db: Db, readings: Readings) {
    this.#db = db;
    this.#readings = readings;
  }

  async ask(caller: Caller, reading: string, { why, note }: NewReviewAsk, id = newId()): Promise<ReviewAsk> {
    await this.#readings.one(caller, reading);
    const row = { id, site_id: caller.site, reading_id: reading, person_id: caller.person, at: now(), why, note };
    await this.#db
      .insertInto("review_asks")
      .values(row)
      .onConflict((on) => on.column("id").doNothing())
      .execute();
    return tellAsk(row);
  }

  async asks(caller: Caller, reading: string, ask: Ask): Promise<Page<ReviewAsk>> {
    await this.#readings.one(caller, reading);
    const rows = await this.#db
      .selectFrom("review_asks")
      .selectAll()
      .where("site_id", "=", caller.site)
      .where("reading_id", "=", reading)
      .$call(newestFirst(ask, "at", "id"))
      .execute();
    return pageOf(rows, ask, (row) => [row.at, row.id], tellAsk);
  }

  /** @throws {RequestError} `body-wrong` for a hint that the reading does not have. */
  async answer(caller: Caller, reading: string, answer: NewReviewAnswer, id = newId()): Promise<ReviewAnswer> {
    const { advice } = await this.#readings.one(caller, reading);
    if (answer.hint !== null && !advice[answer.hint])
      throw new RequestError("body-wrong", `This reading has ${advice.length} hints, counted from 0.`);
    const row = {
      id,
      site_id: caller.site,
      reading_id: reading,
      person_id: caller.person,
      at: now(),
      answer_json: JSON.stringify(answer),
    };
    await this.#db
      .insertInto("review_answers")
      .values(row)
      .onConflict((on) => on.column("id").doNothing())
      .execute();
    const who = await this.#db.selectFrom("people").select("name").where("id", "=", caller.person).executeTakeFirst();
    return tellAnswer({ ...row, name: who?.name ?? "" }, advice);
  }

  async answers(caller: Caller, reading: string, ask: Ask): Promise<Page<ReviewAnswer>> {
    const { advice } = await this.#readings.one(caller, reading);
    const rows = await this.#db
      .selectFrom("review_answers")
      .innerJoin("people", "people.id", "review_answers.person_id")
      .selectAll("review_answers")
      .select("people.name")
      .where("review_answers.site_id", "=", caller.site)
      .where("reading_id", "=", reading)
      .$call(newestFirst(ask, "review_answers.at", "review_answers.id"))
      .execute();
    return pageOf(
      rows,
      ask,
      (row) => [row.at, row.id],
      (row) => tellAnswer(row, advice),
    );
  }

  /** Readings that count now and may need eyes: the newest ones, and those that were asked about and not answered since. */
  async waiting({ site }: Caller): Promise<Waiting[]> {
    const current = this.#db
      .selectFrom("current_readings")
      .innerJoin("readings", "readings.id", "current_readings.reading_id")
      .innerJoin("photos", (join) =>
        join.onRef("photos.site_id", "=", "readings.site_id").onRef("photos.sha256", "=", "readings.photo"),
      )
      .select([
        "readings.id",
        "readings.photo",
        "photos.name",
        "readings.made_at",
        "readings.deck_id",
        "readings.reading_json",
      ])
      .where("readings.site_id", "=", site)
      .orderBy("readings.made_at", "desc")
      .orderBy("readings.id", "desc");
    const asked = await this.#db
      .selectFrom("review_asks")
      .selectAll()
      .where("site_id", "=", site)
      .orderBy("at", "desc")
      .limit(MOST_LOOKED_AT)
      .execute();
    const rows = await current.limit(MOST_LOOKED_AT).execute();
    const missing = [...new Set(asked.map((row) => row.reading_id))].filter((id) => !rows.some((row) => row.id === id));
    if (missing.length > 0) rows.push(...(await current.where("readings.id", "in", missing).execute()));
    const ids = rows.map(({ id }) => id);
    if (ids.length === 0) return [];
    const answers = await this.#db
      .selectFrom("review_answers")
      .select(({ fn }) => ["reading_id", fn.max("at").as("last"), fn.countAll<number>().as("many")])
      .where("reading_id", "in", ids)
      .groupBy("reading_id")
      .execute();
    const taken = await this.#db
      .selectFrom("hints_taken")
      .select(["reading_id", "taken"])
      .where("reading_id", "in", ids)
      .execute();
    return rows.map((row) => {
      const { last, many } = answers.find(({ reading_id }) => reading_id === row.id) ?? { last: "", many: 0 };
      return {
        id: row.id,
        photo: row.photo,
        name: row.name,
        madeAt: row.made_at,
        deck: row.deck_id,
        reading: Reading.parse(JSON.parse(row.reading_json)),
        asks: asked.filter(({ reading_id, at }) => reading_id === row.id && at > last).map(tellAsk),
        answers: many,
        taken: taken.filter(({ reading_id }) => reading_id === row.id).map((said) => said.taken),
      };
    });
  }
}

const tellAsk = (row: Row<"review_asks">): ReviewAsk =>
  ReviewAsk.parse({
    id: row.id,
    reading: row.reading_id,
    person: row.person_id,
    at: row.at,
    why: row.why,
    note: row.note,
  });
function tellAnswer(row: Row<"review_answers"> & { readonly name: string }, advice: Reading["advice"]): ReviewAnswer {
  const answer = Kept.parse(JSON.parse(row.answer_json));
  const said = answer.hint === null ? null : (advice[answer.hint] ?? null);
  const { id, reading_id: reading, person_id: person, name: personName, at } = row;
  return { id, reading, person, personName, at, said, ...answer };
}
