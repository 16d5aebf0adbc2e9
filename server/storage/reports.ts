import type { Report } from "../../vision/contract/index.ts";
import type { Blobs } from "./blobs.ts";
import type { Caller } from "./caller.ts";
import type { Db, Trx } from "./database.ts";
import type { Gate } from "./gate.ts";
import { now } from "./naming.ts";
import { type Ask, newestFirst, type Page, pageOf } from "./pages.ts";
import { REPORT_BLOBS } from "./references.ts";

/** HTML, PDF, and CSV files in a ZIP. */
export interface ReportFiles {
  readonly page: Uint8Array;
  readonly pdf: Uint8Array;
  readonly data: Uint8Array;
}

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
    { page, pdf, data }: ReportFiles,
    also: (trx: Trx) => Promise<boolean>,
  ): Promise<boolean> {
    return this.#gate.whileAdding(async () => {
      const page_sha256 = await this.#blobs.keep(page);
      const pdf_sha256 = await this.#blobs.keep(pdf);
      const data_sha256 = await this.#blobs.keep(data);
      return this.#db.transaction().execute(async (trx) => {
        if (!(await also(trx))) return false;
        await trx
          .insertInto("reports")
          .values({ id, site_id: site, run_id: run, made_at: now(), page_sha256, pdf_sha256, data_sha256 })
          .onConflict((on) => on.column("id").doNothing())
          .execute();
        return true;
      });
    });
  }

  /** The blob of one of a report's files; null where there is none. */
  async file({ site }: Caller, id: string, file: keyof ReportFiles): Promise<string | null> {
    const query = this.#db.selectFrom("reports").select(REPORT_BLOBS).where("site_id", "=", site).where("id", "=", id);
    return (await query.executeTakeFirst())?.[`${file}_sha256`] ?? null;
  }

  async list({ site }: Caller, run: string, ask: Ask): Promise<Page<Report>> {
    const rows = await this.#db
      .selectFrom("reports")
      .selectAll()
      .where("site_id", "=", site)
      .where("run_id", "=", run)
      .$call(newestFirst(ask, "made_at", "id"))
      .execute();
    return pageOf(
      rows,
      ask,
      (row) => [row.made_at, row.id],
      (row) => ({ id: row.id, run: row.run_id, madeAt: row.made_at }),
    );
  }
}
