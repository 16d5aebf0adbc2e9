import type { Ask, Page } from "./pages.ts";

/** Every item of a list, page after page. */
export async function* wholeList<Item>(list: (ask: Ask) => Promise<Page<Item>>): AsyncGenerator<Item> {
  let after: Ask["after"] = null;
  do {
    const { items, next }: Page<Item> = await list({ limit: 100, after });
    yield* items;
    after = next === null ? null : JSON.parse(Buffer.from(next, "base64url").toString());
  } while (after !== null);
}
