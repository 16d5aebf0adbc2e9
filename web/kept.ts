import { type DBSchema, type IDBPDatabase, openDB } from "idb";
import type { NewReadingInput, Reading } from "../vision/contract/index.ts";
import type { Opened } from "./photo-limits.ts";

/** What this device keeps: photos and what was read in them, first of all here; what is not sent yet is never thrown away. */

export interface Photo {
  /** SHA-256 of the file, by which the server knows it too. */
  readonly id: string;
  readonly name: string;
  /** Null for a photo that only the server can open. */
  readonly seen: Pick<Opened, "widthPx" | "heightPx" | "takenAt" | "thumbUrl"> | null;
  /** When it came, ms since 1970. */
  readonly keptAt: number;
}
/** A photo's bytes, apart from the rest, which lists read. Blobs would hold their room until garbage is collected. */
interface Bytes {
  readonly id: string;
  readonly type: string;
  readonly file: ArrayBuffer;
  readonly preview: ArrayBuffer | null;
}
export interface Files {
  readonly file: Blob;
  /** JPEG; null for a photo that only the server can open. */
  readonly preview: Blob | null;
}
export interface MadeReading {
  readonly id: string;
  readonly photo: string;
  /** What the server is to be asked, so that it keeps the same reading. */
  readonly request: NewReadingInput;
  readonly reading: Reading;
  /** Who made it: what the server made has its pictures there. */
  readonly by: "device" | "server";
  /** Laid on the photo, SVG. Null for an unusable photo, or where the server drew it. */
  readonly drawing: string | null;
  readonly classesPng: Uint8Array<ArrayBuffer> | null;
  readonly madeAt: number;
}
/** Where a photo or a reading is on its way to the server; apart from them, so that changing it wants hardly any room. */
interface Way {
  readonly state: "waits" | "sent" | "refused";
  /** Where an upload was begun that may go on; null where none was. */
  readonly upload: string | null;
}
interface KeptWay extends Way {
  readonly id: string;
  readonly kind: "photo" | "reading";
}
export type KeptPhoto = Photo & Way;

interface Tables extends DBSchema {
  photos: { key: string; value: Photo; indexes: { keptAt: number } };
  files: { key: string; value: Bytes };
  readings: { key: string; value: MadeReading; indexes: { photo: string } };
  ways: { key: string; value: KeptWay; indexes: { states: [kind: string, state: string] } };
}

/** There is no room, or this browser keeps nothing for pages. */
export class NotKept extends Error {}

/** Photos on the server too, beyond these newest, are thrown away. */
const MOST_SENT = 30;
/** A browser frees what was thrown away some seconds later: how often it is tried meanwhile, and how long between, ms. */
const TRIES_A_PHOTO = 8;
const FREEING_MS = 600;

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
    for (let tries = 0; ; tries++) {
      try {
        await put(db);
        return tell();
      } catch (error) {
        if (!isFull(error)) throw error;
      }
      if (tries % TRIES_A_PHOTO === 0 && !(await dropOldestSent(db, 0))) throw new NotKept();
      await new Promise((resolve) => setTimeout(resolve, FREEING_MS));
    }
  }

  const waiting = async (kind: KeptWay["kind"]) =>
    (await db?.getAllKeysFromIndex("ways", "states", IDBKeyRange.only([kind, "waits"]))) ?? [];

  return {
    /** Keep a photo that waits to be sent, unless it is kept already. @throws {NotKept} */
    async addPhoto(photo: Photo, { file, preview }: Files): Promise<void> {
      const { id } = photo;
      if (await db?.getKey("photos", id)) return;
      const [fileBytes, previewBytes] = await Promise.all([file.arrayBuffer(), preview?.arrayBuffer() ?? null]);
      await write(async (database) => {
        const work = database.transaction(["photos", "files", "ways"], "readwrite");
        await Promise.all([
          work.objectStore("photos").put(photo),
          work.objectStore("files").put({ id, type: file.type, file: fileBytes, preview: previewBytes }),
          work.objectStore("ways").put({ id, kind: "photo", state: "waits", upload: null }),
          work.done,
        ]);
      });
      if (db) while (await dropOldestSent(db, MOST_SENT));
      // else a browser may throw everything away when the device runs full
      void navigator.storage?.persist?.().catch(() => {});
    },
    /** Keep a reading; made again, it is the newest again, and is not sent again. @throws {NotKept} */
    addReading: (reading: MadeReading, state: Way["state"]) =>
      write(async (database) => {
        const work = database.transaction(["readings", "ways"], "readwrite");
        const ways = work.objectStore("ways");
        const way: KeptWay = { id: reading.id, kind: "reading", state, upload: null };
        const put = (await ways.getKey(reading.id)) === undefined ? ways.put(way) : null;
        await Promise.all([work.objectStore("readings").put(reading), put, work.done]);
      }),
    async photo(id: string): Promise<KeptPhoto | undefined> {
      const [photo, way] = await Promise.all([db?.get("photos", id), db?.get("ways", id)]);
      return photo && way && { ...way, ...photo };
    },
    async files(id: string): Promise<Files | undefined> {
      const found = await db?.get("files", id);
      if (!found) return undefined;
      const { type, file, preview } = found;
      return { file: new Blob([file], { type }), preview: preview && new Blob([preview], { type: "image/jpeg" }) };
    },
    reading: async (id: string) => db?.get("readings", id),
    /** The last reading made of a photo. */
    async newestReading(photo: string): Promise<MadeReading | undefined> {
      const all = (await db?.getAllFromIndex("readings", "photo", photo)) ?? [];
      return all.reduce<MadeReading | undefined>((a, b) => (a && a.madeAt > b.madeAt ? a : b), undefined);
    },
    /** The last reading of every photo that is here, with its photo. */
    async newestReadings(): Promise<{ photo: Photo; made: MadeReading }[]> {
      const photos = (await db?.getAll("photos")) ?? [];
      const made = await Promise.all(photos.map(({ id }) => this.newestReading(id)));
      return photos.flatMap((photo, i) => (made[i] ? [{ photo, made: made[i] }] : []));
    },
    /** The newest photos. */
    async newestPhotos(most: number): Promise<KeptPhoto[]> {
      const all: Photo[] = [];
      let cursor = await db?.transaction("photos").store.index("keptAt").openCursor(null, "prev");
      for (; cursor && all.length < most; cursor = await cursor.continue()) all.push(cursor.value);
      const ways = await Promise.all(all.map(({ id }) => db!.get("ways", id)));
      return all.flatMap((photo, i) => (ways[i] ? [{ ...ways[i], ...photo }] : []));
    },
    waits: async () => ({
      photos: (await waiting("photo")).length,
      readings: (await waiting("reading")).length,
    }),
    waitingPhotos: () => waiting("photo"),
    waitingReadings: () => waiting("reading"),
    async change(id: string, change: Partial<Way>): Promise<void> {
      const way = await db?.get("ways", id);
      if (way) await write((database) => database.put("ways", { ...way, ...change }));
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
        made.createObjectStore("photos", { keyPath: "id" }).createIndex("keptAt", "keptAt");
        made.createObjectStore("files", { keyPath: "id" });
        made.createObjectStore("readings", { keyPath: "id" }).createIndex("photo", "photo");
        made.createObjectStore("ways", { keyPath: "id" }).createIndex("states", ["kind", "state"]);
      },
    });
  } catch {
    return null; // some private windows keep nothing
  }
}

const isFull = (error: unknown) => error instanceof DOMException && error.name === "QuotaExceededError";
/** @param least  How many sent photos stay. @returns false where no more than these are there. */
async function dropOldestSent(db: IDBPDatabase<Tables>, least: number): Promise<boolean> {
  const sent = new Set(await db.getAllKeysFromIndex("ways", "states", IDBKeyRange.only(["photo", "sent"])));
  for (const id of await db.getAllKeysFromIndex("ways", "states", IDBKeyRange.only(["reading", "waits"]))) {
    const reading = await db.get("readings", id);
    if (reading) sent.delete(reading.photo);
  }
  if (sent.size <= least) return false;
  let cursor = await db.transaction("photos").store.index("keptAt").openKeyCursor();
  while (cursor && !sent.has(cursor.primaryKey)) cursor = await cursor.continue();
  if (!cursor) return false;
  await drop(db, cursor.primaryKey);
  return true;
}

/** A photo with its readings. */
async function drop(db: IDBPDatabase<Tables>, photo: string): Promise<void> {
  const work = db.transaction(["photos", "files", "readings", "ways"], "readwrite");
  const [photos, readings, ways] = [work.objectStore("photos"), work.objectStore("readings"), work.objectStore("ways")];
  const ids = await readings.index("photo").getAllKeys(photo);
  await Promise.all([
    photos.delete(photo),
    work.objectStore("files").delete(photo),
    ...ids.map((id) => readings.delete(id)),
    ...[photo, ...ids].map((id) => ways.delete(id)),
    work.done,
  ]);
}
