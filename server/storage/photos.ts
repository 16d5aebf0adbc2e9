import type { StoredPhoto } from "../../vision/contract/index.ts";
import { RequestError } from "../problems.ts";
import type { Received } from "../reader.ts";
import type { Blobs } from "./blobs.ts";
import type { Caller } from "./caller.ts";
import { type Db, forgetDeleted, type Trx } from "./database.ts";
import type { Gate } from "./gate.ts";
import type { Incoming } from "./incoming.ts";
import { type Ask, newestFirst, type Page, pageOf } from "./pages.ts";
import { REPORT_BLOBS } from "./references.ts";
import type { Row } from "./tables.ts";

export type PhotoRow = Row<"photos">;
type Listed = PhotoRow & { reading_id: string | null };

/** Photos of a site, each content once. */
export class Photos {
  readonly #db: Db;
  readonly #blobs: Blobs;
  readonly #gate: Gate;

  constructor(db: Db, blobs: Blobs, gate: Gate) {
    this.#db = db;
    this.#blobs = blobs;
    this.#gate = gate;
  }

  /**
   * Keep a photo; when this resolves it survives a power cut. Sent again, it keeps its place and takes the newer name.
   *
   * @param also  What else is written in the same moment, or not at all.
   */
  async add(
    { site }: Caller,
    incoming: Incoming,
    { name, run, received }: { name: string; run: string | null; received: Received },
    also: (trx: Trx) => Promise<void> = async () => {},
  ): Promise<PhotoRow> {
    const { sha256, bytes } = incoming;
    return this.#gate.whileAdding(async () => {
      await this.#blobs.adopt(incoming);
      const preview_sha256 = await this.#blobs.keep(received.jpeg);
      return this.#db.transaction().execute(async (trx) => {
        if (run !== null) await runIn(trx, site, run);
        const row: PhotoRow = {
          site_id: site,
          sha256,
          preview_sha256,
          run_id: run,
          name,
          format: received.format,
          bytes,
          width_px: received.widthPx,
          height_px: received.heightPx,
          taken_at: received.takenAt,
          sent_at: new Date().toISOString(),
        };
        const kept = await trx
          .insertInto("photos")
          .values(row)
          .onConflict((on) =>
            on.columns(["site_id", "sha256"]).doUpdateSet(run === null ? { name } : { name, run_id: run }),
          )
          .returningAll()
          .executeTakeFirstOrThrow();
        await also(trx);
        return kept;
      });
    });
  }

  async find({ site }: Caller, sha256: string, db: Db = this.#db): Promise<PhotoRow | null> {
    const query = db.selectFrom("photos").selectAll().where("site_id", "=", site).where("sha256", "=", sha256);
    return (await query.executeTakeFirst()) ?? null;
  }

  async one(caller: Caller, sha256: string): Promise<StoredPhoto | null> {
    const row = await this.#listed(caller).where("photos.sha256", "=", sha256).executeTakeFirst();
    return row ? tell(row) : null;
  }

  /** Say which run a photo, with what was read in it, is of; reports of the run that it leaves go. @returns null: not here. @throws {RequestError} `not-found` for a run that is not here. */
  async putInto(caller: Caller, sha256: string, run: string | null): Promise<StoredPhoto | null> {
    await this.#db.transaction().execute(async (trx) => {
      if (run !== null) await runIn(trx, caller.site, run);
      const was = await this.find(caller, sha256, trx);
      if (was && was.run_id !== null && was.run_id !== run) {
        await trx.deleteFrom("reports").where("site_id", "=", caller.site).where("run_id", "=", was.run_id).execute();
      }
      const link = { run_id: run };
      await trx
        .updateTable("photos")
        .set(link)
        .where("site_id", "=", caller.site)
        .where("sha256", "=", sha256)
        .execute();
      await trx
        .updateTable("readings")
        .set(link)
        .where("site_id", "=", caller.site)
        .where("photo", "=", sha256)
        .execute();
    });
    return this.one(caller, sha256);
  }

  async list(caller: Caller, ask: Ask, run: string | null): Promise<Page<StoredPhoto>> {
    const rows = await this.#listed(caller)
      .$if(run !== null, (query) => query.where("photos.run_id", "=", run))
      .$call(newestFirst(ask, "photos.sent_at", "photos.sha256"))
      .execute();
    return pageOf(rows, ask, (row) => [row.sent_at, row.sha256], tell);
  }

  /** Forget a photo with all that was read in it: rows, and every blob that nothing else needs. @returns false: not here. */
  async remove({ site }: Caller, sha256: string): Promise<boolean> {
    return this.#gate.whileRemoving(async () => {
      const gone = await this.#db.transaction().execute(async (trx) => {
        const photo = await trx
          .selectFrom("photos")
          .select(["sha256", "preview_sha256", "run_id"])
          .where("site_id", "=", site)
          .where("sha256", "=", sha256)
          .executeTakeFirst();
        if (!photo) return null;
        const { run_id: run, ...own } = photo;
        const reports = await trx
          .deleteFrom("reports")
          .where("site_id", "=", site)
          .where("run_id", "=", run)
          .returning(REPORT_BLOBS)
          .execute(); // they tell of it
        const pictures = await trx
          .selectFrom("readings")
          .select(["overlay_sha256", "classes_sha256", "confidence_sha256"])
          .where("site_id", "=", site)
          .where("photo", "=", sha256)
          .execute();
        const ofThis = trx.selectFrom("readings").select("id").where("site_id", "=", site).where("photo", "=", sha256);
        const marks = await trx
          .selectFrom("mark_ups")
          .select("classes_sha256")
          .where("reading_id", "in", ofThis)
          .union(trx.selectFrom("gallery_references").select("classes_sha256").where("reading_id", "in", ofThis))
          .execute();
        await trx.deleteFrom("answers").where("site_id", "=", site).where("body", "like", `%${sha256}%`).execute();
        await trx.deleteFrom("photos").where("site_id", "=", site).where("sha256", "=", sha256).execute();
        const held = [own, ...pictures, ...marks, ...reports]
          .flatMap((row) => Object.values(row))
          .filter((id) => id !== null);
        return unneeded(trx, held);
      });
      for (const id of gone ?? []) await this.#blobs.remove(id);
      if (gone) await forgetDeleted(this.#db);
      return gone !== null;
    });
  }

  #listed({ site }: Caller) {
    return this.#db
      .selectFrom("photos")
      .leftJoin("current_readings", (join) =>
        join
          .onRef("current_readings.site_id", "=", "photos.site_id")
          .onRef("current_readings.photo", "=", "photos.sha256"),
      )
      .selectAll("photos")
      .select("current_readings.reading_id")
      .where("photos.site_id", "=", site);
  }
}

/** @throws {RequestError} `not-found` for a run that this site does not have. */
export async function runIn(db: Db, site: string, run: string): Promise<void> {
  const row = await db
    .selectFrom("runs")
    .select("id")
    .where("site_id", "=", site)
    .where("id", "=", run)
    .executeTakeFirst();
  if (!row) throw new RequestError("not-found", "There is no such run here. Start one, or leave the run out.");
}

/** Which of these blobs no row of any site names. */
export async function unneeded(db: Db, ids: readonly string[]): Promise<string[]> {
  const free: string[] = [];
  for (const id of new Set(ids)) {
    const photo = await db
      .selectFrom("photos")
      .select("sha256")
      .where(({ eb, or }) => or([eb("sha256", "=", id), eb("preview_sha256", "=", id)]))
      .limit(1)
      .executeTakeFirst();
    const picture = await db
      .selectFrom("readings")
      .select("id")
      .where(({ eb, or }) =>
        or([eb("overlay_sha256", "=", id), eb("classes_sha256", "=", id), eb("confidence_sha256", "=", id)]),
      )
      .limit(1)
      .executeTakeFirst();
    const report = await db
      .selectFrom("reports")
      .select("id")
      .where(({ eb, or }) => or(REPORT_BLOBS.map((column) => eb(column, "=", id))))
      .limit(1)
      .executeTakeFirst();
    const mark = await db
      .selectFrom("mark_ups")
      .select("id")
      .where("classes_sha256", "=", id)
      .union(db.selectFrom("gallery_references").select("id").where("classes_sha256", "=", id))
      .limit(1)
      .executeTakeFirst();
    const packed = await db
      .selectFrom("packed_references")
      .select("id")
      .where(({ eb, or }) => or([eb("photo_sha256", "=", id), eb("classes_sha256", "=", id)]))
      .limit(1)
      .executeTakeFirst();
    const made = await db
      .selectFrom("made_references")
      .select("id")
      .where(({ eb, or }) => or([eb("photo_sha256", "=", id), eb("classes_sha256", "=", id)]))
      .limit(1)
      .executeTakeFirst();
    if (!photo && !picture && !report && !mark && !packed && !made) free.push(id);
  }
  return free;
}

const tell = (row: Listed): StoredPhoto => ({
  id: row.sha256,
  name: row.name,
  format: row.format,
  bytes: row.bytes,
  widthPx: row.width_px,
  heightPx: row.height_px,
  takenAt: row.taken_at,
  sentAt: row.sent_at,
  run: row.run_id,
  reading: row.reading_id,
});
