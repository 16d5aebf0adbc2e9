import { PROGRAM } from "../../server/made-by.ts";
import type { Parts } from "../../server/parts.ts";
import { now } from "../../server/storage/naming.ts";
import type { DeckFile, NewReading, Reading } from "../../vision/contract/index.ts";

interface KeptPhoto {
  readonly id: string;
  readonly name: string;
  readonly takenAt?: string;
  readonly run?: string;
  /** The preview's blob. */
  readonly preview?: string;
}

/** A photo's row, without its bytes. */
async function keepPhoto({ data }: Parts, { id, name, takenAt, run, preview = id }: KeptPhoto): Promise<void> {
  const about = { name, format: "jpeg", bytes: 1, width_px: 4000, height_px: 3000 };
  const times = { taken_at: takenAt ?? null, sent_at: now(), run_id: run ?? null };
  await data.db
    .insertInto("photos")
    .values({ ...about, ...times, site_id: data.local.site, sha256: id, preview_sha256: preview })
    .execute();
}

/** Keep a photo and a reading of it, as if it had just been made. @returns the reading's id, which is the photo's too. */
export async function keepReading(
  parts: Parts,
  number: number,
  reading: Reading,
  pictures: { classes: Uint8Array } | null = null,
  asked: Partial<NewReading> = {},
): Promise<string> {
  const { data } = parts;
  const id = number.toString(16).padStart(64, "0");
  await keepPhoto(parts, { id, name: `${number}.jpg` });
  const none = new Uint8Array([0]);
  await data.readings.add(
    data.local.site,
    {
      id,
      asked: { photo: id, corners: null, ...asked } as NewReading,
      deckId: null,
      deckVersion: null,
      remadeFrom: null,
    },
    { reading, pictures: pictures && { overlay: none, confidence: none, ...pictures }, problem: null },
    async () => true,
  );
  return id;
}

/** Rows as a photo and its current reading make them: many at once, as they are and without pictures but a drawn one with its classes. */
export async function keepRows(
  parts: Parts,
  photo: KeptPhoto,
  {
    id,
    reading,
    deck,
    file,
    drawn,
  }: {
    id: string;
    reading: Reading;
    deck?: string;
    file?: DeckFile;
    /** Blobs. */
    drawn?: { readonly overlay: string; readonly classes: string };
  },
): Promise<void> {
  const { db, local } = parts.data;
  await keepPhoto(parts, photo);
  await db
    .insertInto("readings")
    .values({
      id,
      site_id: local.site,
      photo: photo.id,
      run_id: photo.run ?? null,
      deck_id: deck ?? null,
      deck_version: deck === undefined ? null : 1,
      remade_from: null,
      program: PROGRAM,
      usable: 1,
      made_at: now(),
      asked_json: JSON.stringify({ photo: photo.id, corners: null, ...(file && { deck: file }) }),
      overlay_sha256: drawn?.overlay ?? null,
      classes_sha256: drawn?.classes ?? null,
      confidence_sha256: null,
      reading_json: JSON.stringify(reading),
    })
    .execute();
  await db.insertInto("current_readings").values({ site_id: local.site, photo: photo.id, reading_id: id }).execute();
}
