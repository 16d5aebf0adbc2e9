import type { Role } from "./tables.ts";

/** On whose behalf something is done, and in which site; everything that is read or written names its site. */
export interface Caller {
  readonly site: string;
  readonly person: string;
}

/** A caller that was let in, with what it is in that site. */
export interface Member extends Caller {
  readonly role: Role;
}
