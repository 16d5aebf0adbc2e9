import { askForReading, sendPhoto } from "./api.ts";
import type { Kept } from "./kept.ts";
import { Trouble } from "./trouble.ts";

/** Sends what this device keeps, when the server can be reached: resumed where it broke off, never twice. */

export interface Sending {
  /** How much of a photo is sent, 0 to 1; null where nothing is being sent. */
  readonly share: number | null;
  /** Why nothing is sent, though something waits: the code of the problem. */
  readonly hindrance: string | null;
}
const FIRST_PAUSE_MS = 5_000;
const LONGEST_PAUSE_MS = 5 * 60_000;
/** The server looked at it and will never take it. */
const REFUSALS: readonly string[] = [
  "photo-empty",
  "photo-too-large",
  "photo-not-an-image",
  "photo-format",
  "photo-broken",
  "photo-too-small",
  "body-wrong",
];
/** While this is so, there is no use in trying the next one. */
const STANDSTILLS: readonly string[] = [
  "no-answer",
  "log-in",
  "not-allowed",
  "too-many",
  "busy",
  "disk-full",
  "storage-away",
  "closed",
];
const codeOf = (error: unknown) => (error instanceof Trouble ? error.code : "internal");

export type Sender = ReturnType<typeof openSender>;
/** @param hear  Called when something was sent, or could not be. */
export function openSender(kept: Kept, hear: (news: Sending) => void) {
  const idle = () => hear({ share: null, hindrance: null });

  /** Send one photo; a second call for the same one joins the first. */
  const inHand = new Map<string, Promise<void>>();
  function send(id: string): Promise<void> {
    const sent = inHand.get(id) ?? sendKept(id).finally(() => inHand.delete(id));
    inHand.set(id, sent);
    return sent;
  }
  async function sendKept(id: string): Promise<void> {
    const [photo, files] = await Promise.all([kept.photo(id), kept.files(id)]);
    if (photo?.state !== "waits" || !files) return;
    try {
      await sendPhoto(
        { ...photo, file: files.file },
        {
          begun: (upload) => void kept.change(id, { upload }),
          share: (share) => hear({ share, hindrance: null }),
        },
      );
      await kept.change(id, { state: "sent", upload: null });
    } catch (error) {
      if (REFUSALS.includes(codeOf(error))) await kept.change(id, { state: "refused", upload: null });
      throw error;
    } finally {
      idle();
    }
  }

  /** Have the server make and keep the same reading. */
  async function sendReading(id: string): Promise<void> {
    const made = await kept.reading(id);
    if (!made) return;
    const photo = await kept.photo(made.photo);
    if (photo?.state === "waits") return; // its photo goes first
    if (photo?.state === "refused") return kept.change(id, { state: "refused" });
    try {
      await askForReading(made.request, id);
      await kept.change(id, { state: "sent" });
    } catch (error) {
      const code = codeOf(error);
      if (code === "not-found" && photo) await kept.change(photo.id, { state: "waits" }); // lost there: sent anew
      if (REFUSALS.includes(code) || (code === "not-found" && !photo)) await kept.change(id, { state: "refused" });
      throw error;
    } finally {
      idle();
    }
  }

  /** @throws the first trouble, once everything that can go has gone. */
  async function sendAll(): Promise<void> {
    const troubles: unknown[] = [];
    const attempt = async (work: Promise<void>) => {
      await work.catch((error: unknown) => {
        if (STANDSTILLS.includes(codeOf(error))) throw error;
        if (!REFUSALS.includes(codeOf(error))) troubles.push(error);
      });
    };
    for (const id of await kept.waitingPhotos()) await attempt(send(id));
    for (const id of await kept.waitingReadings()) await attempt(sendReading(id));
    if (troubles.length > 0) throw troubles[0];
  }

  let pause = FIRST_PAUSE_MS;
  let later: ReturnType<typeof setTimeout> | undefined;
  let underWay = false;
  let again = false;
  async function round(): Promise<void> {
    clearTimeout(later);
    again = true;
    if (underWay) return;
    underWay = true;
    try {
      while (again) {
        again = false;
        await alone(sendAll);
      }
      pause = FIRST_PAUSE_MS;
      const { photos, readings } = await kept.waits();
      if (photos + readings > 0) later = setTimeout(round, LONGEST_PAUSE_MS); // another tab is at it
    } catch (error) {
      if (codeOf(error) === "internal") console.error(error);
      hear({ share: null, hindrance: codeOf(error) });
      later = setTimeout(round, pause);
      pause = Math.min(LONGEST_PAUSE_MS, pause * 2);
    } finally {
      underWay = false;
    }
  }
  const wake = () => {
    pause = FIRST_PAUSE_MS;
    void round();
  };
  addEventListener("online", wake);
  document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && wake());
  return {
    /** Something new is kept, or the server may be there again. */
    wake,
    /** Send this one photo now. @throws {Trouble} */
    now: send,
  };
}

/** One tab sends at a time, where the browser lets tabs agree on that; sent twice, it is still one photo to the server. */
async function alone(work: () => Promise<void>): Promise<void> {
  if (!navigator.locks) return work();
  await navigator.locks.request("deckbands sending", { ifAvailable: true }, (lock) => (lock ? work() : undefined));
}
