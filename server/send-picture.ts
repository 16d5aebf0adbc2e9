import type { Request, Response } from "express";
import { readingPicture } from "./pictures.ts";
import { RequestError } from "./problems.ts";
import { FOR_EVER, sendBlob } from "./send-blob.ts";
import { speechIn } from "./speech.ts";
import type { Caller } from "./storage/caller.ts";
import type { Data } from "./storage/data.ts";

/** How long a reading's picture may be kept: drawn anew, its words may become others with the next program. */
export const cachingIn = (language: string) => (language === "en" ? FOR_EVER : "private, max-age=86400");

/**
 * Answer with a reading drawn on its photo.
 *
 * @param language  BCP 47, one that is here.
 * @param caching  Where it may not be kept as long as it could be.
 * @throws {RequestError} `not-found` where there is no such picture.
 */
export async function sendPicture(
  req: Request,
  res: Response,
  data: Data,
  caller: Caller,
  id: string,
  language: string,
  caching = cachingIn(language),
): Promise<void> {
  if (language === "en") {
    const blob = await data.readings.picture(caller, id, "overlay");
    if (!blob || !(await sendBlob(req, res, data.blobs, blob, "image/jpeg", caching))) throw noPicture();
    return;
  }
  const bytes = await readingPicture(data, caller, id, speechIn(language));
  if (!bytes) throw noPicture();
  res.set("Cache-Control", caching).type("image/jpeg").send(bytes);
}

export const noPicture = () =>
  new RequestError("not-found", "There is no such picture: the reading is unusable or not made yet.");
