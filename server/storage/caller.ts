/** On whose behalf something is done, and in which site; everything that is read or written names its site. */
export interface Caller {
  readonly site: string;
  readonly person: string;
}
