import { type DBSchema, type IDBPDatabase, openDB } from "idb";
import type { NewReadingInput, Reading } from "../vision/contract/index.ts";

/** What this device keeps: photos and what was read in them, first of all here; what is not sent yet is never thrown away. */

export interface KeptPhoto {
  /** SHA-256 of the file, by which the server knows it too. */
  readonly id: string;
  readonly name: string;
  readonly file: Blob;
  /** Null for a photo that only the server can open. */
  readonly seen: {
    readonly preview: Blob;
    readonly thumb: Blob;
    readonly widthPx: number;
    readonly heightPx: number;
    readonly takenAt: string | null;
  } | null;
  /** When it came, ms since 1970. */
  readonly keptAt: number;
  readonly state: "waits" | "sent" | "refused";
  /** Where an upload was begun that may go on; null where none was. */
  readonly upload: string | null;
}
export interface KeptReading {
  readonly id: string;
  readonly photo: string;
  /** What the server is to be asked, so that it keeps the same reading. */
  readonly request: NewReadingInput;
  readonly reading: Reading;
  /** Who made it: what the server made has its pictures there. */
  readonly by: "device" | "server";
  /** Laid on the photo, SVG. Null for an unusable photo, or where the server drew it. */
  readonly drawing: string | null;
  readonly classesPng: Blob | null;
  readonly madeAt: number;
  readonly state: "waits" | "sent" | "refused";
  /** Its name on the server, where that is known. */
  readonly serverId: string | null;
}
interface Tables extends DBSchema {
  photos: { key: string; value: KeptPhoto; indexes: { keptAt: number; state: string } };
  readings: { key: string; value: KeptReading; indexes: { photo: string; state: string } };
}

/** There is no room, or this browser keeps nothing for pages. */
export class NotKept extends Error {}

/** Photos on the server too, beyond these newest, are thrown away. */
const MOST_SENT = 30;

export type Kept = Awaited<ReturnType<typeof openKept>>;
/** @param changed  Called when another tab changed something here. */
export async function openKept(changed: () => void) {
  const db = await open();
  const channel = new BroadcastChannel("deckbands kept");
  channel.onmessage = changed;
  const tell = () => channel.postMessage(null);
  /** Write; where there is no room, throw away photos that were sent, the oldest first, until there is. */
  async function write(put: (database: IDBPDatabase<Tables>) => Promise<unknown>): Promise<void> {
    if (!db) throw new NotKept();
    for (;;) {
      try {
        await put(db);
        return tell();
      } catch (error) {
        if (!isFull(error)) throw error;
        if (!(await dropOldestSent(db, 0))) throw new NotKept();
      }
    }
  }

  return {
    /** Keep a photo, unless it is kept already. @throws {NotKept} */
    async addPhoto(photo: KeptPhoto): Promise<void> {
      if (await db?.getKey("photos", photo.id)) return;
      await write((database) => database.add("photos", photo).catch(whereNew));
      if (db) while (await dropOldestSent(db, MOST_SENT));
    },
    /** Keep a reading; made again, it is the newest again, and is not sent again. @throws {NotKept} */
    async addReading(reading: KeptReading): Promise<void> {
      const { state, serverId } = (await db?.get("readings", reading.id)) ?? reading;
      await write((database) => database.put("readings", { ...reading, state, serverId }));
    },
    photo: async (id: string) => db?.get("photos", id),
    /** The last reading made of a photo. */
    async newestReading(photo: string): Promise<KeptReading | undefined> {
      const all = (await db?.getAllFromIndex("readings", "photo", photo)) ?? [];
      return all.reduce<KeptReading | undefined>((a, b) => (a && a.madeAt > b.madeAt ? a : b), undefined);
    },
    /** The newest photos. */
    async newestPhotos(most: number): Promise<KeptPhoto[]> {
      const all: KeptPhoto[] = [];
      let cursor = await db?.transaction("photos").store.index("keptAt").openCursor(null, "prev");
      for (; cursor && all.length < most; cursor = await cursor.continue()) all.push(cursor.value);
      return all;
    },
    waits: async () => ({
      photos: (await db?.countFromIndex("photos", "state", "waits")) ?? 0,
      readings: (await db?.countFromIndex("readings", "state", "waits")) ?? 0,
    }),
    waitingPhotos: async () => (await db?.getAllKeysFromIndex("photos", "state", "waits")) ?? [],
    waitingReadings: async () => (await db?.getAllFromIndex("readings", "state", "waits")) ?? [],
    async changePhoto(id: string, change: Partial<Pick<KeptPhoto, "state" | "upload">>): Promise<void> {
      const photo = await db?.get("photos", id);
      if (photo) await write((database) => database.put("photos", { ...photo, ...change }));
    },
    async changeReading(id: string, change: Partial<Pick<KeptReading, "state" | "serverId">>): Promise<void> {
      const reading = await db?.get("readings", id);
      if (reading) await write((database) => database.put("readings", { ...reading, ...change }));
    },
    async remove(id: string): Promise<void> {
      if (db) await drop(db, id);
      tell();
    },
  };
}

async function open(): Promise<IDBPDatabase<Tables> | null> {
  try {
    return await openDB<Tables>("deckbands", 1, {
      upgrade(made) {
        const photos = made.createObjectStore("photos", { keyPath: "id" });
        photos.createIndex("keptAt", "keptAt");
        photos.createIndex("state", "state");
        const readings = made.createObjectStore("readings", { keyPath: "id" });
        readings.createIndex("photo", "photo");
        readings.createIndex("state", "state");
      },
    });
  } catch {
    return null; // some private windows keep nothing
  }
}

const isFull = (error: unknown) => error instanceof DOMException && error.name === "QuotaExceededError";
/** Another tab was quicker: what is there is the same. */
const whereNew = (error: unknown) => {
  if (!(error instanceof DOMException && error.name === "ConstraintError")) throw error;
};

/** @param least  How many sent photos stay. @returns false where no more than these are there. */
async function dropOldestSent(db: IDBPDatabase<Tables>, least: number): Promise<boolean> {
  const unsent = new Set((await db.getAllFromIndex("readings", "state", "waits")).map(({ photo }) => photo));
  const sent: string[] = [];
  let cursor = await db.transaction("photos").store.index("keptAt").openCursor();
  for (; cursor; cursor = await cursor.continue()) {
    if (cursor.value.state === "sent" && !unsent.has(cursor.value.id)) sent.push(cursor.value.id);
  }
  if (sent.length <= least) return false;
  await drop(db, sent[0]!);
  return true;
}

/** A photo with its readings. */
async function drop(db: IDBPDatabase<Tables>, photo: string): Promise<void> {
  const work = db.transaction(["photos", "readings"], "readwrite");
  await work.objectStore("photos").delete(photo);
  const readings = work.objectStore("readings");
  for (const id of await readings.index("photo").getAllKeys(photo)) await readings.delete(id);
  await work.done;
}
