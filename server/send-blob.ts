import { pipeline } from "node:stream/promises";
import type { Request, Response } from "express";
import type { Blobs } from "./storage/blobs.ts";

/** For what never changes. */
export const FOR_EVER = "private, max-age=31536000, immutable";

/**
 * Answer with a blob: all of it or the one range that was asked for (RFC 9110, section 14), or 304 where whoever asks has
 * it. A blob never changes, so its name is its ETag.
 *
 * @returns false, with nothing answered, where there is no such blob.
 */
export async function sendBlob(
  req: Request,
  res: Response,
  blobs: Blobs,
  id: string,
  type: string,
  caching = FOR_EVER,
): Promise<boolean> {
  const size = await blobs.size(id);
  if (size === null) return false;
  const etag = `"${id}"`;
  res.set({ ETag: etag, "Accept-Ranges": "bytes", "Cache-Control": caching });
  res.type(type);
  if (req.fresh) {
    res.status(304).end();
    return true;
  }
  const condition = req.get("If-Range");
  const ranges = condition === undefined || condition === etag ? req.range(size, { combine: true }) : undefined;
  if (ranges === -1) {
    res.status(416).set("Content-Range", `bytes */${size}`).end();
    return true;
  }
  const one = Array.isArray(ranges) && ranges.type === "bytes" && ranges.length === 1 ? ranges[0] : undefined;
  const { start, end } = one ?? { start: 0, end: size - 1 };
  if (one) res.status(206).set("Content-Range", `bytes ${start}-${end}/${size}`);
  res.set("Content-Length", String(end - start + 1));
  if (req.method === "HEAD") res.end();
  else await pipeline(blobs.stream(id, start, end), res).catch(gone);
  return true;
}

/** Whoever asked has hung up. */
function gone(error: NodeJS.ErrnoException): void {
  if (error.code !== "ERR_STREAM_PREMATURE_CLOSE") throw error;
}
