import { NewReading, ReadingList } from "../vision/contract/index.ts";
import { ask, readingThere, readingUrl } from "./api.ts";
import { type Look, takenAt } from "./history.ts";

/** Readings that the server keeps and this device does not. */

/** Most readings asked for, and calls at a time. */
const MOST = 100;
const AT_A_TIME = 6;

/**
 * The newest readings there, one a photo.
 *
 * @param here  Photos whose readings are here already.
 * @throws {Trouble} where the server does not answer, or wants a log-in.
 */
export async function looksThere(here: ReadonlySet<string>, signal: AbortSignal): Promise<Look[]> {
  const { items } = await ask(ReadingList, `api/readings?limit=${MOST}`, { signal });
  const newest = new Map<string, (typeof items)[number]>();
  for (const item of items) {
    if (item.usable && !here.has(item.photo) && !newest.has(item.photo)) newest.set(item.photo, item);
  }
  const wanted = [...newest.values()];
  const looks: Look[] = [];
  const next = async (): Promise<void> => {
    for (let item = wanted.shift(); item; item = wanted.shift()) {
      const [reading, asked] = await Promise.all([
        readingThere(item.id, signal),
        ask(NewReading, `${readingUrl(item.id)}/asked`, { signal }),
      ]);
      if (!reading) continue; // under way
      const at = takenAt(reading, Date.parse(item.madeAt));
      looks.push({ id: item.photo, at, reading, asked, isHere: false });
    }
  };
  await Promise.all(Array.from({ length: AT_A_TIME }, next));
  return looks;
}
