import type { Kept } from "./kept.ts";
import { endRun, makeRun, putPhotoInto, writeDown } from "./run-api.ts";
import type { KeptEntry, KeptRun, KeptRuns } from "./run-kept.ts";
import { Trouble } from "./trouble.ts";

/** Sends what this device keeps of runs, in the order in which it was written down, when the server can be reached. */

/** The server looked at it and will never take it. */
const REFUSALS: readonly string[] = ["body-wrong", "changed", "taken", "not-found", "key-used"];
/** Photos that are looked through for those taken while a run was open. */
const MOST_PHOTOS = 60;
/** Between two tries while the server does not answer, ms. */
const PAUSE_MS = 30_000;
const codeOf = (error: unknown) => (error instanceof Trouble ? error.code : "internal");

export type RunSender = ReturnType<typeof openRunSender>;
export function openRunSender(runs: KeptRuns, photos: Kept) {
  async function sendRun(run: KeptRun): Promise<KeptRun> {
    if (run.state !== "waits") return run;
    const { name, material, deck, startedAt, endedAt } = run;
    try {
      const there = run.there ?? (await makeRun({ name, material: material || null, deck, startedAt }, run.id)).id;
      if (endedAt !== null) await endRun(there, endedAt);
      const sent: KeptRun = { ...run, there, state: "sent" };
      await runs.putRun(sent);
      return sent;
    } catch (error) {
      if (!REFUSALS.includes(codeOf(error))) throw error;
      await runs.putRun({ ...run, state: "refused" });
      return run;
    }
  }

  async function sendEntry(kept: KeptEntry, there: string): Promise<void> {
    try {
      const written = await writeDown(there, { entry: kept.entry, replaces: kept.replaces }, kept.id);
      await runs.putEntry({ ...kept, there: written.id, state: "sent", problem: null });
    } catch (error) {
      if (!REFUSALS.includes(codeOf(error))) throw error;
      await runs.putEntry({ ...kept, state: "refused", problem: error instanceof Trouble ? error.detail : "" });
    }
  }

  /** Photos that were taken while this device worked in a run are put into it, once they are there; into the latest, if into several. */
  async function link(run: KeptRun): Promise<void> {
    if (run.there === null || !run.mine) return;
    const until = run.endedAt === null ? Number.POSITIVE_INFINITY : Date.parse(run.endedAt);
    for (const { id, keptAt, state } of await photos.newestPhotos(MOST_PHOTOS)) {
      if (state !== "sent" || keptAt < Date.parse(run.startedAt) || keptAt > until || (await runs.linked(id))) continue;
      try {
        await putPhotoInto(id, run.there);
      } catch (error) {
        if (!REFUSALS.includes(codeOf(error))) throw error;
      }
      await runs.putLink({ photo: id, run: run.id });
    }
  }

  async function sendAll(): Promise<void> {
    const sent = new Map<string, KeptRun>();
    for (const run of await runs.runs()) sent.set(run.id, await sendRun(run));
    for (const entry of await runs.waiting()) {
      const there = sent.get(entry.run)?.there;
      if (there) await sendEntry(entry, there);
    }
    for (const run of sent.values()) await link(run);
  }

  let underWay = false;
  let again = false;
  let later: ReturnType<typeof setTimeout> | undefined;
  async function wake(): Promise<void> {
    again = true;
    if (underWay) return;
    underWay = true;
    clearTimeout(later);
    try {
      while (again) {
        again = false;
        await alone(sendAll);
      }
    } catch (error) {
      if (codeOf(error) === "internal") console.error(error);
      later = setTimeout(wake, PAUSE_MS);
    } finally {
      underWay = false;
    }
  }
  addEventListener("online", () => void wake());
  document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && void wake());
  /** Something new is kept, or the server may be there again. Resolves when all that can go has gone. */
  return { wake };
}

/** One tab sends at a time, where the browser lets tabs agree on that. */
async function alone(work: () => Promise<void>): Promise<void> {
  if (!navigator.locks) return work();
  await navigator.locks.request("deckbands sending runs", { ifAvailable: true }, (lock) => (lock ? work() : undefined));
}
