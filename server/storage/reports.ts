import type { Report } from "../../vision/contract/index.ts";
import type { Blobs } from "./blobs.ts";
import type { Caller } from "./caller.ts";
import type { Db, Trx } from "./database.ts";
import type { Gate } from "./gate.ts";
import { now } from "./naming.ts";
import { type Ask, following, type Page, pageOf } from "./pages.ts";

/** Reports of a site's runs. They are only ever added: a later one may say otherwise. */
export class Reports {
  readonly #db: Db;
  readonly #blobs: Blobs;
  readonly #gate: Gate;

  constructor(db: Db, blobs: Blobs, gate: Gate) {
    this.#db = db;
    this.#blobs = blobs;
    this.#gate = gate;
  }

  /** @param also  What is written in the same moment; when it answers false, nothing is. @returns whether it was kept. */
  async add(
    site: string,
    id: string,
    run: string,
    page: string,
    also: (trx: Trx) => Promise<boolean>,
  ): Promise<boolean> {
    return this.#gate.whileAdding(async () => {
      const page_sha256 = await this.#blobs.keep(new TextEncoder().encode(page));
      return this.#db.transaction().execute(async (trx) => {
        if (!(await also(trx))) return false;
        await trx
          .insertInto("reports")
          .values({ id, site_id: site, run_id: run, made_at: now(), page_sha256 })
          .onConflict((on) => on.column("id").doNothing())
          .execute();
        return true;
      });
    });
  }

  /** The blob of a report's page; null where there is none. */
  async page({ site }: Caller, id: string): Promise<string | null> {
    const query = this.#db.selectFrom("reports").select("page_sha256").where("site_id", "=", site).where("id", "=", id);
    return (await query.executeTakeFirst())?.page_sha256 ?? null;
  }

  async list({ site }: Caller, run: string, ask: Ask): Promise<Page<Report>> {
    const rows = await this.#db
      .selectFrom("reports")
      .selectAll()
      .where("site_id", "=", site)
      .where("run_id", "=", run)
      .where(following(ask, "made_at", "id"))
      .orderBy("made_at", "desc")
      .orderBy("id", "desc")
      .limit(ask.limit + 1)
      .execute();
    return pageOf(
      rows,
      ask,
      (row) => [row.made_at, row.id],
      (row) => ({ id: row.id, run: row.run_id, madeAt: row.made_at }),
    );
  }
}
