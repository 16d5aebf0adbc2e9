import { type SelectQueryBuilder, type SqlBool, sql } from "kysely";
import { z } from "zod";
import { RequestError } from "../problems.ts";

/** How many items a list answers when it is not said, and at most. */
const USUAL = 50;
const MOST = 200;

/** Where in a list to go on: after the item with this time and id, newest first. */
export interface Ask {
  readonly limit: number;
  readonly after: readonly [at: string, id: string] | null;
}
export interface Page<Item> {
  readonly items: Item[];
  readonly next: string | null;
}

/** What a list may be asked: `limit`, and the `cursor` that the part before answered as `next`. */
export const PageQuery = z.object({
  limit: z.coerce.number().int().min(1).max(MOST).default(USUAL),
  cursor: z.string().max(300).optional(),
});
export type PageQuery = z.infer<typeof PageQuery>;

const Cursor = z.tuple([z.iso.datetime(), z.string().max(64)]);

/** @throws {RequestError} `body-wrong` for a cursor that no list answered. */
export function askOf({ limit, cursor }: PageQuery): Ask {
  if (cursor === undefined) return { limit, after: null };
  try {
    return { limit, after: Cursor.parse(JSON.parse(Buffer.from(cursor, "base64url").toString())) };
  } catch {
    throw new RequestError("body-wrong", "The cursor is not one that this list answered. Leave it out to start anew.");
  }
}

/**
 * The rows of a list that are asked for, with one more, newest first: `query.$call(newestFirst(ask, "at", "id"))`. `at` and `id`
 * name the columns that it is ordered by; the index on the two finds where to go on.
 */
export const newestFirst =
  ({ limit, after }: Ask, at: string, id: string) =>
  <Db, Tables extends keyof Db, Row>(
    query: SelectQueryBuilder<Db, Tables, Row>,
  ): SelectQueryBuilder<Db, Tables, Row> => {
    const [time, name] = [sql.ref(at), sql.ref(id)];
    const rest = after ? query.where(sql<SqlBool>`(${time}, ${name}) < (${after[0]}, ${after[1]})`) : query;
    return rest
      .orderBy(time, "desc")
      .orderBy(name, "desc")
      .limit(limit + 1);
  };

/** Rows asked for with one more than `limit` → a page. */
export function pageOf<Row, Item>(
  rows: readonly Row[],
  { limit }: Ask,
  key: (row: Row) => readonly [at: string, id: string],
  item: (row: Row) => Item,
): Page<Item> {
  const shown = rows.slice(0, limit);
  const last = shown.at(-1);
  const next = rows.length > limit && last ? Buffer.from(JSON.stringify(key(last))).toString("base64url") : null;
  return { items: shown.map(item), next };
}
