import type { DriftEvent, RunRecord, WatchedName } from "../contract/index.ts";

/** What a person wrote down that they changed. */
export interface NotedChange {
  /** As text that sorts by time, as the photos' times do. */
  readonly at: string;
  readonly control: string;
  readonly target: string;
  readonly who: string;
  readonly note: string;
}

/** What was written down as changed in a run, in order of time; what has no time is left out. */
export function changesOf({ changes, startedAt }: RunRecord): NotedChange[] {
  return changes
    .flatMap(({ at, control, target, who, note }) =>
      at === null ? [] : [{ at: dated(at, startedAt), control, target, who, note }],
    )
    .toSorted((a, b) => (a.at < b.at ? -1 : 1));
}

/** A time of day alone is of the day on which the run began. */
export const dated = (at: string, startedAt: string | null) =>
  at.includes("T") ? at : `${startedAt?.slice(0, 11) ?? ""}${at}`;

interface Around {
  /** When the last photo before the change was taken, and the one that raised the alarm. */
  readonly before: string;
  readonly until: string;
  readonly changes: readonly NotedChange[];
}
type Event = Pick<DriftEvent, "kind" | "moved">;

/**
 * What most likely moved a deck's bands: what was written down just then, else what bands do on any table when water, slope
 * or feed change (common practice), else that it is not known.
 *
 * Outlet mm count from the high corner of the dense-product end: bands that move to more mm move down the slope.
 */
export function likelyCause(event: Event, { before, until, changes }: Around): DriftEvent["cause"] {
  const noted = changes.filter(({ at }) => minute(at) >= minute(before) && minute(at) <= minute(until));
  const last = noted.at(-1);
  if (last) {
    const { control, target, who, note } = last;
    const has = (text: string) => (text ? "yes" : "no");
    const values = {
      control,
      target,
      who,
      note,
      hasTarget: has(target),
      hasWho: has(who),
      hasNote: has(note),
      at: clock(last.at),
      changes: noted.length,
    };
    return { told: { code: "cause.changed", values }, kind: "written down" };
  }
  const found = USUAL_CAUSES.find(({ applies }) => applies(event));
  if (found) return { told: { code: `cause.${found.code}`, values: {} }, kind: "common practice" };
  return { told: { code: "cause.unknown", values: {} }, kind: "not known" };
}

const minute = (at: string) => at.slice(0, 16);
const clock = (at: string) => minute(at).replace("T", " ");

/** −1, 0 or 1: which way these quantities moved; 0 where none did or they disagree. */
function way({ moved }: Event, of: (quantity: WatchedName) => boolean): number {
  const ways = new Set(moved.filter(({ quantity }) => of(quantity)).map(({ size }) => Math.sign(size)));
  return ways.size === 1 ? [...ways][0]! : 0;
}
const edges = (quantity: WatchedName) => !quantity.endsWith("cover");
const solids = (quantity: WatchedName) => /^(dense|middling|light) cover$/.test(quantity);
const only = (name: WatchedName) => (quantity: WatchedName) => quantity === name;
const edgesMoved = ({ moved }: Event) => moved.filter(({ quantity }) => edges(quantity)).length;

/** The first that applies is told. All are common practice, none a measurement. */
const USUAL_CAUSES: readonly { readonly applies: (event: Event) => boolean; readonly code: string }[] = [
  {
    applies: (event) => event.kind === "surge",
    code: "surge",
  },
  {
    applies: (event) => way(event, only("dry cover")) > 0,
    code: "drier",
  },
  {
    applies: (event) => way(event, solids) > 0 && way(event, only("bare cover")) <= 0 && edgesMoved(event) === 0,
    code: "more",
  },
  {
    applies: (event) => way(event, solids) < 0 && way(event, only("bare cover")) >= 0 && edgesMoved(event) === 0,
    code: "less",
  },
  {
    applies: (event) => edgesMoved(event) >= 2 && way(event, edges) > 0,
    code: "down",
  },
  {
    applies: (event) => edgesMoved(event) >= 2 && way(event, edges) < 0,
    code: "up",
  },
  {
    applies: (event) => way(event, (quantity) => quantity.startsWith("dense")) > 0,
    code: "denseGrew",
  },
  {
    applies: (event) => way(event, (quantity) => quantity === "dense to" || quantity === "dense cover") < 0,
    code: "denseShrank",
  },
];
