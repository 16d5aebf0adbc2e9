import { type DBSchema, type IDBPDatabase, openDB } from "idb";
import type { RunEntry } from "../vision/contract/index.ts";

/** What this device keeps of runs: first here, then sent. What waits is never thrown away. */

type Way = "waits" | "sent" | "refused";
export interface KeptRun {
  readonly id: string;
  readonly name: string;
  readonly material: string;
  /** Id of a deck that the server keeps. */
  readonly deck: string | null;
  /** ISO 8601, UTC. */
  readonly startedAt: string;
  readonly endedAt: string | null;
  /** Its id on the server; null until it is there. */
  readonly there: string | null;
  /** Whether this device works in it: began it, or wrote into it. Others are only looked at. */
  readonly mine: boolean;
  /** Whether the server knows its end as it is told here. */
  readonly state: Way;
}
export interface KeptEntry {
  /** Also its Idempotency-Key: sent twice, it is written down once. */
  readonly id: string;
  readonly run: string;
  /** ms since 1970. */
  readonly at: number;
  readonly entry: RunEntry | null;
  /** The server's id of the entry that this one withdraws. */
  readonly replaces: string | null;
  readonly there: string | null;
  readonly state: Way;
  /** Why the server did not take it. */
  readonly problem: string | null;
}
/** A photo that was put into a run. */
interface KeptLink {
  readonly photo: string;
  readonly run: string;
}
interface Tables extends DBSchema {
  runs: { key: string; value: KeptRun };
  entries: { key: string; value: KeptEntry; indexes: { run: string } };
  links: { key: string; value: KeptLink };
}

export type KeptRuns = Awaited<ReturnType<typeof openKeptRuns>>;

/** @param changed  Called when something here changed, in this tab or another. */
export async function openKeptRuns(changed: () => void) {
  const db = await open();
  const channel = new BroadcastChannel("deckbands runs");
  channel.onmessage = changed;
  const tell = () => {
    channel.postMessage(null);
    changed();
  };
  const entries = async () => (await db?.getAll("entries")) ?? [];
  return {
    /** Whether this browser keeps anything; some private windows do not. */
    keeps: db !== null,
    /** The latest first. */
    async runs(): Promise<KeptRun[]> {
      const all = (await db?.getAll("runs")) ?? [];
      return all.toSorted((a, b) => (a.startedAt > b.startedAt ? -1 : 1));
    },
    async putRun(run: KeptRun): Promise<void> {
      await db?.put("runs", run);
      tell();
    },
    /** In the order in which they were written down. */
    async entriesOf(run: string): Promise<KeptEntry[]> {
      const all = (await db?.getAllFromIndex("entries", "run", run)) ?? [];
      return all.toSorted((a, b) => a.at - b.at);
    },
    async waiting(): Promise<KeptEntry[]> {
      return (await entries()).filter(({ state }) => state === "waits").toSorted((a, b) => a.at - b.at);
    },
    async putEntry(entry: KeptEntry): Promise<void> {
      await db?.put("entries", entry);
      tell();
    },
    /** Forget an entry that was never sent. */
    async dropEntry(id: string): Promise<void> {
      await db?.delete("entries", id);
      tell();
    },
    linked: async (photo: string) => (await db?.get("links", photo)) !== undefined,
    async putLink(link: KeptLink): Promise<void> {
      await db?.put("links", link);
    },
  };
}

async function open(): Promise<IDBPDatabase<Tables> | null> {
  try {
    return await openDB<Tables>("deckbands runs", 1, {
      upgrade(made) {
        made.createObjectStore("runs", { keyPath: "id" });
        made.createObjectStore("entries", { keyPath: "id" }).createIndex("run", "run");
        made.createObjectStore("links", { keyPath: "photo" });
      },
    });
  } catch {
    return null;
  }
}
