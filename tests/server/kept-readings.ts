import type { Parts } from "../../server/parts.ts";
import { now } from "../../server/storage/naming.ts";
import type { NewReading, Reading } from "../../vision/contract/index.ts";

/** Keep a photo and a reading of it, as if it had just been made. @returns the reading's id, which is the photo's too. */
export async function keepReading(
  { data }: Parts,
  number: number,
  reading: Reading,
  pictures: { classes: Uint8Array } | null = null,
  asked: Partial<NewReading> = {},
): Promise<string> {
  const id = number.toString(16).padStart(64, "0");
  const about = { name: `${number}.jpg`, format: "jpeg", bytes: 1, width_px: 4000, height_px: 3000 };
  const times = { taken_at: null, sent_at: now(), run_id: null };
  await data.db
    .insertInto("photos")
    .values({ ...about, ...times, site_id: data.local.site, sha256: id, preview_sha256: id })
    .execute();
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
