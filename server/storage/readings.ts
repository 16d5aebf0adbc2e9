import type { ExpressionBuilder } from "kysely";
import { type DeckFile, NewReading, Reading, type ReadingSummary } from "../../vision/contract/index.ts";
import { PROGRAM } from "../made-by.ts";
import { RequestError } from "../problems.ts";
import type { Outcome } from "../reader.ts";
import { sha256 } from "../sha256.ts";
import type { Blobs } from "./blobs.ts";
import type { Caller } from "./caller.ts";
import type { Db, Trx } from "./database.ts";
import type { Gate } from "./gate.ts";
import { now } from "./naming.ts";
import { type Ask, newestFirst, type Page, pageOf } from "./pages.ts";
import type { NewRow, Row, Tables } from "./tables.ts";

export const PICTURES = ["overlay", "classes", "confidence"] as const;
export type Picture = (typeof PICTURES)[number];

/** Which readings a list is of. */
export interface Of {
  readonly photo?: string;
  readonly deck?: string;
  readonly run?: string;
}
/** What a reading was asked with, and of what. */
export interface Origin {
  readonly id: string;
  readonly asked: NewReading;
  readonly deckId: string | null;
  readonly deckVersion: number | null;
  readonly remadeFrom: string | null;
}

/** A usable reading with what it is held against others by. */
export interface TimedReading {
  readonly id: string;
  readonly photo: string;
  readonly run: string | null;
  /** When the photo was taken, or sent where that is not known. */
  readonly at: string;
  /** The program and the deck file that it rests on. */
  readonly measuredBy: string;
  /** The deck file it was read with. */
  readonly deck: DeckFile | null;
  readonly reading: Reading;
}

const SUMMARY = [
  "id",
  "photo",
  "made_at",
  "program",
  "usable",
  "deck_id",
  "deck_version",
  "run_id",
  "remade_from",
] as const;

/** Readings of a site. They are only ever added; what people say of them is laid beside them. */
export class Readings {
  readonly #db: Db;
  readonly #blobs: Blobs;
  readonly #gate: Gate;

  constructor(db: Db, blobs: Blobs, gate: Gate) {
    this.#db = db;
    this.#blobs = blobs;
    this.#gate = gate;
  }

  /**
   * Keep a reading and make it the one of its photo that counts now.
   *
   * @param also  What is written in the same moment; when it answers false, nothing is.
   * @returns false when nothing was kept.
   */
  async add(site: string, origin: Origin, outcome: Outcome, also: (trx: Trx) => Promise<boolean>): Promise<boolean> {
    const { id, asked, deckId, deckVersion, remadeFrom } = origin;
    const { reading, pictures } = outcome;
    return this.#gate.whileAdding(async () => {
      const kept = async (picture: Picture) => (pictures ? this.#blobs.keep(pictures[picture]) : null);
      const row: Omit<NewRow<"readings">, "run_id"> = {
        id,
        site_id: site,
        photo: asked.photo,
        deck_id: deckId,
        deck_version: deckVersion,
        remade_from: remadeFrom,
        program: PROGRAM,
        usable: reading.quality.usable ? 1 : 0,
        made_at: now(),
        asked_json: JSON.stringify(asked),
        overlay_sha256: await kept("overlay"),
        classes_sha256: await kept("classes"),
        confidence_sha256: await kept("confidence"),
        reading_json: JSON.stringify(Reading.parse(reading)),
      };
      return this.#db.transaction().execute(async (trx) => {
        if (!(await also(trx))) return false;
        const photo = await trx
          .selectFrom("photos")
          .select("run_id")
          .where("site_id", "=", site)
          .where("sha256", "=", asked.photo)
          .executeTakeFirstOrThrow();
        await trx
          .insertInto("readings")
          .values({ ...row, run_id: photo.run_id })
          .onConflict((on) => on.column("id").doNothing())
          .execute();
        await trx
          .insertInto("current_readings")
          .values({ site_id: site, photo: asked.photo, reading_id: id })
          .onConflict((on) => on.columns(["site_id", "photo"]).doUpdateSet({ reading_id: id }))
          .execute();
        return true;
      });
    });
  }

  async reading(caller: Caller, id: string): Promise<Reading | null> {
    const row = await this.row(caller, id);
    return row ? Reading.parse(JSON.parse(row.reading_json)) : null;
  }

  /** @throws {RequestError} `not-found`. */
  async one(caller: Caller, id: string): Promise<Reading> {
    return (await this.reading(caller, id)) ?? missing();
  }

  async row({ site }: Caller, id: string): Promise<Row<"readings"> | null> {
    const query = this.#db.selectFrom("readings").selectAll().where("site_id", "=", site).where("id", "=", id);
    return (await query.executeTakeFirst()) ?? null;
  }

  /** What a kept reading was asked with. @throws {RequestError} `not-found`. */
  async asked(caller: Caller, id: string): Promise<{ asked: NewReading; row: Row<"readings"> }> {
    const row = (await this.row(caller, id)) ?? missing();
    return { row, asked: NewReading.parse(JSON.parse(row.asked_json)) };
  }

  async has({ site }: Caller, id: string): Promise<boolean> {
    const query = this.#db.selectFrom("readings").select("id").where("site_id", "=", site).where("id", "=", id);
    return (await query.executeTakeFirst()) !== undefined;
  }

  /** The blob of one of a reading's pictures. */
  async picture({ site }: Caller, id: string, picture: Picture): Promise<string | null> {
    const query = this.#db
      .selectFrom("readings")
      .select(`${picture}_sha256` as const)
      .where("site_id", "=", site)
      .where("id", "=", id);
    const row: Record<string, string | null> | undefined = await query.executeTakeFirst();
    return row?.[`${picture}_sha256`] ?? null;
  }

  async list({ site }: Caller, ask: Ask, { photo, deck, run }: Of): Promise<Page<ReadingSummary>> {
    const rows = await this.#db
      .selectFrom("readings")
      .select(SUMMARY)
      .where("site_id", "=", site)
      .$if(photo !== undefined, (query) => query.where("photo", "=", photo!))
      .$if(deck !== undefined, (query) => query.where("deck_id", "=", deck!))
      .$if(run !== undefined, (query) => query.where("run_id", "=", run!))
      .$call(newestFirst(ask, "made_at", "id"))
      .execute();
    return pageOf(rows, ask, (row) => [row.made_at, row.id], summary);
  }

  /**
   * The readings that count now of the latest photos of a run, or of a deck: read with it, or put into one of its runs; in
   * the order in which the photos were taken, or sent where that is not known.
   */
  async inTime(
    { site }: Caller,
    of: { readonly deck: string } | { readonly run: string },
    most: number,
  ): Promise<TimedReading[]> {
    const rows = await this.#db
      .selectFrom("current_readings as current")
      .innerJoin("readings", "readings.id", "current.reading_id")
      .innerJoin("photos", (on) =>
        on.onRef("photos.site_id", "=", "readings.site_id").onRef("photos.sha256", "=", "readings.photo"),
      )
      .select(["readings.id", "readings.photo", "readings.run_id", "readings.program", "readings.deck_version"])
      .select((is) => is.fn.coalesce("photos.taken_at", "photos.sent_at").as("at"))
      .where((is) =>
        "run" in of
          ? is.and([is("readings.site_id", "=", site), is("readings.run_id", "=", of.run)])
          : ofDeck(site, of.deck)(is),
      )
      .where("readings.usable", "=", 1)
      .orderBy("at", "desc")
      .orderBy("readings.id", "desc")
      .limit(most)
      .execute();
    const texts = await this.#texts(rows.map(({ id }) => id));
    return rows.reverse().flatMap(({ id, photo, run_id, program, deck_version, at }) => {
      const text = texts.get(id);
      if (text === undefined) return [];
      const { deck } = NewReading.parse(JSON.parse(text.asked_json));
      const measuredBy = [program, deck_version, deck && sha256(JSON.stringify(deck))].join(" ");
      const reading = Reading.parse(JSON.parse(text.reading_json));
      return [{ id, photo, run: run_id, at: at ?? "", measuredBy, deck: deck ?? null, reading }];
    });
  }

  /**
   * What charts of a deck hang on: its latest photos in order of time, each with its reading and what that rests on, and its
   * runs with how much is written down of them. No document is opened.
   */
  async stampsOf({ site }: Caller, deck: string, most: number) {
    const photos = await this.#db
      .selectFrom("current_readings as current")
      .innerJoin("readings", "readings.id", "current.reading_id")
      .innerJoin("photos", (on) =>
        on.onRef("photos.site_id", "=", "readings.site_id").onRef("photos.sha256", "=", "readings.photo"),
      )
      .select(["readings.id", "readings.run_id", "readings.program", "readings.deck_version"])
      .select((is) => is.fn.coalesce("photos.taken_at", "photos.sent_at").as("at"))
      .where(ofDeck(site, deck))
      .where("readings.usable", "=", 1)
      .orderBy("at", "desc")
      .orderBy("readings.id", "desc")
      .limit(most)
      .execute();
    const runs = await this.#db
      .selectFrom("runs")
      .select(["id", "log", "started_at"])
      .where("site_id", "=", site)
      .where("deck_id", "=", deck)
      .orderBy("id")
      .execute();
    return {
      photos: photos.reverse().map((row) => [row.id, row.at, row.run_id, row.program, row.deck_version] as const),
      runs: runs.map(({ id, log, started_at }) => [id, log, started_at] as const),
    };
  }

  /** The kept deck that a reading is of: read with it, or in one of its runs; null where there is none. */
  async deckOf({ site }: Caller, id: string): Promise<string | null> {
    const row = await this.#db
      .selectFrom("readings")
      .leftJoin("runs", "runs.id", "readings.run_id")
      .select(["readings.deck_id as own", "runs.deck_id as of_run"])
      .where("readings.site_id", "=", site)
      .where("readings.id", "=", id)
      .executeTakeFirst();
    return row?.own ?? row?.of_run ?? null;
  }

  /** The usable readings that count now of a run's photos. */
  async ofRun({ site }: Caller, run: string, most: number): Promise<Reading[]> {
    const rows = await this.#db
      .selectFrom("current_readings as current")
      .innerJoin("readings", "readings.id", "current.reading_id")
      .select("readings.reading_json")
      .where("readings.site_id", "=", site)
      .where("readings.run_id", "=", run)
      .where("readings.usable", "=", 1)
      .orderBy("readings.made_at", "desc")
      .limit(most)
      .execute();
    return rows.map(({ reading_json }) => Reading.parse(JSON.parse(reading_json)));
  }

  async #texts(ids: readonly string[]) {
    if (ids.length === 0) return new Map<string, never>();
    const rows = await this.#db
      .selectFrom("readings")
      .select(["id", "asked_json", "reading_json"])
      .where("id", "in", ids)
      .execute();
    return new Map(rows.map((row) => [row.id, row]));
  }

  /** Current readings that another program made: what may be made anew. */
  async outdated({ site }: Caller, limit: number): Promise<string[]> {
    const rows = await this.#db
      .selectFrom("current_readings")
      .innerJoin("readings", "readings.id", "current_readings.reading_id")
      .select("readings.id")
      .where("current_readings.site_id", "=", site)
      .where("readings.program", "!=", PROGRAM)
      .limit(limit)
      .execute();
    return rows.map(({ id }) => id);
  }
}

/** Read with a deck, or put into one of its runs; each way by its own index. */
const ofDeck = (site: string, deck: string) => (is: ExpressionBuilder<Tables, "readings">) =>
  is.or([
    is.and([is("readings.site_id", "=", site), is("readings.deck_id", "=", deck)]),
    is.and([
      is("readings.site_id", "=", site),
      is(
        "readings.run_id",
        "in",
        is.selectFrom("runs").select("runs.id").where("runs.site_id", "=", site).where("runs.deck_id", "=", deck),
      ),
    ]),
  ]);

function missing(): never {
  throw new RequestError("not-found", "There is no such reading here. Ask for it again.");
}

const summary = (row: Pick<Row<"readings">, (typeof SUMMARY)[number]>): ReadingSummary => ({
  id: row.id,
  photo: row.photo,
  madeAt: row.made_at,
  program: row.program,
  usable: row.usable === 1,
  deck: row.deck_id,
  deckVersion: row.deck_version,
  run: row.run_id,
  remadeFrom: row.remade_from,
});
