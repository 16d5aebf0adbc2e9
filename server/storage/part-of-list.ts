import { RequestError } from "../problems.ts";
import type { Page, PageQuery } from "./pages.ts";

/**
 * Part of a list that is not ordered by time: `next` names the last item shown. Where that one has left the list
 * meanwhile, it begins anew.
 *
 * @throws {RequestError} `body-wrong` for a cursor that is none.
 */
export function partOf<Item>(
  all: readonly Item[],
  { limit, cursor }: PageQuery,
  name: (item: Item) => string,
): Page<Item> {
  if (cursor !== undefined && !/^[\w-]+$/.test(cursor))
    throw new RequestError("body-wrong", "The cursor is not one that this list answered. Leave it out to start anew.");
  const last = cursor === undefined ? null : Buffer.from(cursor, "base64url").toString();
  const from = last === null ? 0 : all.findIndex((item) => name(item) === last) + 1;
  const items = all.slice(from, from + limit);
  const end = items.at(-1);
  return { items, next: end && from + limit < all.length ? Buffer.from(name(end)).toString("base64url") : null };
}
