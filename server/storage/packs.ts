import type { Insertable } from "kysely";
import type { NewLesson, Reference } from "../../vision/contract/index.ts";
import { canonical } from "../canonical.ts";
import type { Blobs } from "./blobs.ts";
import type { Caller } from "./caller.ts";
import type { Db } from "./database.ts";
import type { Gate } from "./gate.ts";
import { newId, now } from "./naming.ts";
import type { PackedReferenceRow } from "./tables.ts";

/** A reference of a pack, with its pictures' bytes. */
export interface NewPacked {
  readonly reference: Reference;
  readonly photo: Uint8Array;
  readonly classes: Uint8Array | null;
}

/** Packs that a site took in, with what came in them. */
export class Packs {
  readonly #db: Db;
  readonly #blobs: Blobs;
  readonly #gate: Gate;

  constructor(db: Db, blobs: Blobs, gate: Gate) {
    this.#db = db;
    this.#blobs = blobs;
    this.#gate = gate;
  }

  /** Whether a pack signed by this key was taken in before. */
  async knows({ site }: Caller, publicKey: string): Promise<boolean> {
    const query = this.#db.selectFrom("packs").select("id").where("site_id", "=", site).where("key", "=", publicKey);
    return (await query.limit(1).executeTakeFirst()) !== undefined;
  }

  /**
   * All of it in one transaction, or nothing.
   *
   * @returns how many of the lessons were not here yet.
   */
  add(
    { site, person }: Caller,
    { name, publicKey }: { readonly name: string; readonly publicKey: string },
    references: readonly NewPacked[],
    lessons: readonly NewLesson[],
  ): Promise<number> {
    return this.#gate.whileAdding(async () => {
      const pack = newId();
      const own = { site_id: site, person_id: person, made_at: now() };
      const rows: Insertable<PackedReferenceRow>[] = [];
      for (const { reference, photo, classes } of references) {
        rows.push({
          ...own,
          id: reference.id,
          pack_id: pack,
          reference_json: JSON.stringify(reference),
          photo_sha256: await this.#blobs.keep(photo),
          classes_sha256: classes && (await this.#blobs.keep(classes)),
        });
      }
      return this.#db.transaction().execute(async (trx) => {
        await trx
          .insertInto("packs")
          .values({ ...own, id: pack, name, key: publicKey })
          .execute();
        for (const row of rows) await trx.insertInto("packed_references").values(row).execute();
        let added = 0;
        for (const lesson of lessons) {
          const alike = await trx
            .selectFrom("lessons")
            .select("lesson_json")
            .where("site_id", "=", site)
            .where("name", "=", lesson.name)
            .execute();
          if (alike.some((row) => canonical(JSON.parse(row.lesson_json)) === canonical(lesson))) continue;
          const row = { ...own, id: newId(), name: lesson.name, lesson_json: JSON.stringify(lesson) };
          await trx.insertInto("lessons").values(row).execute();
          added++;
        }
        return added;
      });
    });
  }
}
