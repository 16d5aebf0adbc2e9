import { type HintTaken, type MarkUp, MarkUpFile, type NewMarkUp } from "../../vision/contract/index.ts";
import { markedPng, readMarkedPng } from "../marked-png.ts";
import { RequestError } from "../problems.ts";
import type { Blobs } from "./blobs.ts";
import type { Caller } from "./caller.ts";
import type { Db } from "./database.ts";
import type { Gate } from "./gate.ts";
import { newId, now } from "./naming.ts";
import { type Ask, newestFirst, type Page, pageOf } from "./pages.ts";
import type { Readings } from "./readings.ts";
import type { Row } from "./tables.ts";

/** What people say of readings: corrections, and which hints they followed. Laid beside a reading, which stays as it is. */
export class Said {
  readonly #db: Db;
  readonly #readings: Readings;
  readonly #blobs: Blobs;
  readonly #gate: Gate;

  constructor(db: Db, readings: Readings, blobs: Blobs, gate: Gate) {
    this.#db = db;
    this.#readings = readings;
    this.#blobs = blobs;
    this.#gate = gate;
  }

  /** @param classesPng  What each cell of the reading's grid shows. @throws {RequestError} `marks-file`. */
  async markUp(caller: Caller, reading: string, { classesPng, ...markUp }: NewMarkUp, id = newId()): Promise<MarkUp> {
    const { grid } = await this.#readings.one(caller, reading);
    const picture = classesPng === null ? null : markedPng(readMarkedPng(Buffer.from(classesPng, "base64"), grid));
    return this.#gate.whileAdding(async () => {
      const row = {
        id,
        site_id: caller.site,
        person_id: caller.person,
        reading_id: reading,
        made_at: now(),
        mark_up_json: JSON.stringify(markUp),
        classes_sha256: picture && (await this.#blobs.keep(picture)),
      };
      await this.#db
        .insertInto("mark_ups")
        .values(row)
        .onConflict((on) => on.column("id").doNothing())
        .execute();
      return tellMarkUp(row);
    });
  }

  /** One mark-up, with the blob of its cells. @throws {RequestError} `not-found`. */
  async oneMarkUp(caller: Caller, id: string): Promise<MarkUp & { readonly blob: string | null }> {
    const row = await this.#db
      .selectFrom("mark_ups")
      .selectAll()
      .where("site_id", "=", caller.site)
      .where("id", "=", id)
      .executeTakeFirst();
    if (!row) throw new RequestError("not-found", "There is no such mark-up here.");
    return { ...tellMarkUp(row), blob: row.classes_sha256 };
  }

  async markUps(caller: Caller, reading: string, ask: Ask): Promise<Page<MarkUp>> {
    await this.#readings.one(caller, reading);
    const rows = await this.#db
      .selectFrom("mark_ups")
      .selectAll()
      .where("site_id", "=", caller.site)
      .where("reading_id", "=", reading)
      .$call(newestFirst(ask, "made_at", "id"))
      .execute();
    return pageOf(rows, ask, (row) => [row.made_at, row.id], tellMarkUp);
  }

  /** @throws {RequestError} `body-wrong` for a hint that the reading does not have. */
  async takeHint(
    caller: Caller,
    reading: string,
    said: { hint: number; taken: HintTaken["taken"]; note: string | null; at?: string },
    id = newId(),
  ): Promise<HintTaken> {
    const { advice } = await this.#readings.one(caller, reading);
    const hint = advice[said.hint];
    if (!hint) throw new RequestError("body-wrong", `This reading has ${advice.length} hints, counted from 0.`);
    const row = { id, hint: said.hint, taken: said.taken, note: said.note, at: said.at ?? now() };
    await this.#db
      .insertInto("hints_taken")
      .values({ ...row, site_id: caller.site, person_id: caller.person, reading_id: reading })
      .onConflict((on) => on.column("id").doNothing())
      .execute();
    return { ...row, person: caller.person, said: hint };
  }

  async hintsTaken(caller: Caller, reading: string, ask: Ask): Promise<Page<HintTaken>> {
    const { advice } = await this.#readings.one(caller, reading);
    const rows = await this.#db
      .selectFrom("hints_taken")
      .selectAll()
      .where("site_id", "=", caller.site)
      .where("reading_id", "=", reading)
      .$call(newestFirst(ask, "at", "id"))
      .execute();
    return pageOf(
      rows,
      ask,
      (row) => [row.at, row.id],
      ({ id, person_id: person, at, hint, taken, note }) => ({
        id,
        person,
        at,
        hint,
        taken,
        note,
        said: advice[hint]!,
      }),
    );
  }
}

const tellMarkUp = (row: Row<"mark_ups">): MarkUp => ({
  id: row.id,
  reading: row.reading_id,
  person: row.person_id,
  madeAt: row.made_at,
  classes: row.classes_sha256 !== null,
  markUp: MarkUpFile.parse(JSON.parse(row.mark_up_json)),
});
