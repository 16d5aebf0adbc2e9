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
    const what = last.target ? `${last.control} ${last.target}` : last.control;
    const by = last.who ? ` by ${last.who}` : "";
    const more = noted.length > 1 ? ` It is the last of ${noted.length} changes then.` : "";
    const note = last.note ? ` Noted: ${last.note}.` : "";
    return { say: `The ${what} was changed${by} at ${clock(last.at)}.${note}${more}`, kind: "written down" };
  }
  const found = USUAL_CAUSES.find(({ applies }) => applies(event));
  if (found) return { say: found.say, kind: "common practice" };
  return { say: "Nothing that is written down explains it. Ask who was at the table then.", kind: "not known" };
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
const USUAL_CAUSES: readonly { readonly applies: (event: Event) => boolean; readonly say: string }[] = [
  {
    applies: (event) => event.kind === "surge",
    say: "Most likely the feed surged: more or thicker pulp for a while. Look at sump, pump and how the feed is given.",
  },
  {
    applies: (event) => way(event, only("dry cover")) > 0,
    say: "The deck runs drier. Most likely less wash water, or a wash pipe with closed holes.",
  },
  {
    applies: (event) => way(event, solids) > 0 && way(event, only("bare cover")) <= 0 && edgesMoved(event) === 0,
    say: "More of the deck is covered. Most likely more feed, or thicker feed.",
  },
  {
    applies: (event) => way(event, solids) < 0 && way(event, only("bare cover")) >= 0 && edgesMoved(event) === 0,
    say: "Less of the deck is covered. Most likely less feed, or a feed box that clogs.",
  },
  {
    applies: (event) => edgesMoved(event) >= 2 && way(event, edges) > 0,
    say: "The bands moved down the slope together. Most likely more wash water or a steeper cross slope.",
  },
  {
    applies: (event) => edgesMoved(event) >= 2 && way(event, edges) < 0,
    say: "The bands moved up the slope together. Most likely less wash water, a clogged wash pipe or a flatter cross slope.",
  },
  {
    applies: (event) => way(event, (quantity) => quantity.startsWith("dense")) > 0,
    say: "The dense band grew alone. Most likely richer or coarser feed; if its grade falls, more wash water is wanted.",
  },
  {
    applies: (event) => way(event, (quantity) => quantity === "dense to" || quantity === "dense cover") < 0,
    say: "The dense band shrank alone. Most likely poorer or finer feed, or too much wash water.",
  },
];
