import { z } from "zod";
import { RequestError } from "./problems.ts";
import type { Caller } from "./storage/caller.ts";
import type { Claims } from "./storage/claims.ts";
import type { Data } from "./storage/data.ts";
import type { Db } from "./storage/database.ts";
import { inMs, now } from "./storage/naming.ts";

/** How long an answer is kept for whoever asks again. */
const KEPT_MS = 24 * 60 * 60 * 1000;

export interface Answer {
  readonly status: number;
  readonly headers: Readonly<Record<string, string>>;
  /** JSON; null where the answer has no body. */
  readonly body: string | null;
}

const Headers = z.record(z.string(), z.string());

/**
 * Answers to writes that came with an `Idempotency-Key` (draft-ietf-httpapi-idempotency-key-header): who did not hear the
 * answer asks again with the same key, and what was asked is not done twice.
 */
export class Answers {
  readonly #db: Db;
  readonly #underWay: Claims;

  constructor({ db, claims }: Pick<Data, "db" | "claims">) {
    this.#db = db;
    this.#underWay = claims;
  }

  /**
   * Do `work`, or tell what came of it the first time. What fails is forgotten, so that it may be tried again.
   *
   * @param request  What tells this request from another one: method, path and a digest of the body.
   * @throws {RequestError} `in-progress`; `key-used`: the key came with another request before.
   */
  async once({ site }: Caller, key: string, request: string, work: () => Promise<Answer>): Promise<Answer> {
    const release = await this.#underWay.claim(`${site} ${key}`);
    if (!release) {
      throw new RequestError("in-progress", "A request with this Idempotency-Key is under way. Ask again in a moment.");
    }
    try {
      const kept = await this.#find(site, key);
      if (kept && kept.request !== request) {
        throw new RequestError("key-used", "This Idempotency-Key came with another request before. Take a new one.");
      }
      if (kept?.status != null) {
        return { status: kept.status, headers: Headers.parse(JSON.parse(kept.headers_json ?? "{}")), body: kept.body };
      }
      return await this.#first(site, key, request, work);
    } finally {
      await release();
    }
  }

  /** Forget answers that nobody will ask for any more. */
  async tidy(): Promise<void> {
    await this.#db.deleteFrom("answers").where("at", "<", inMs(-KEPT_MS)).execute();
  }

  async #first(site: string, key: string, request: string, work: () => Promise<Answer>): Promise<Answer> {
    const begun = { site_id: site, key, request, status: null, headers_json: null, body: null, at: now() };
    await this.#db
      .insertInto("answers")
      .values(begun)
      .onConflict((on) => on.columns(["site_id", "key"]).doUpdateSet(begun)) // one that nobody asks for any more
      .execute();
    try {
      const answer = await work();
      await this.#db
        .updateTable("answers")
        .set({ status: answer.status, headers_json: JSON.stringify(answer.headers), body: answer.body })
        .where("site_id", "=", site)
        .where("key", "=", key)
        .execute();
      return answer;
    } catch (error) {
      await this.#db.deleteFrom("answers").where("site_id", "=", site).where("key", "=", key).execute();
      throw error;
    }
  }

  async #find(site: string, key: string) {
    return this.#db
      .selectFrom("answers")
      .selectAll()
      .where("site_id", "=", site)
      .where("key", "=", key)
      .where("at", ">=", inMs(-KEPT_MS))
      .executeTakeFirst();
  }
}
