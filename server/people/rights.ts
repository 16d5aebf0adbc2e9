import type { Role } from "../storage/tables.ts";

/** What may be done, by who may do it. `anyone` needs no log-in: it tells nothing of any site. */
const RIGHTS = {
  /** Look at all of the site. */
  see: ["operator", "reviewer", "trainer", "owner"],
  /** Send photos, ask for readings, keep runs and decks, say what was done. */
  work: ["operator", "reviewer", "trainer", "owner"],
  /** Correct readings, have them made anew, begin jobs anew. */
  review: ["reviewer", "trainer", "owner"],
  /** Build the gallery, make lessons. */
  teach: ["trainer", "owner"],
  /** Show a case to people outside. */
  share: ["reviewer", "trainer", "owner"],
  /** Delete, rename, let people in and out. */
  own: ["owner"],
} as const satisfies Record<string, readonly Role[]>;

export type Right = keyof typeof RIGHTS | "anyone";

export const mayDo = (role: Role, right: Right) =>
  right === "anyone" || (RIGHTS[right] as readonly Role[]).includes(role);
