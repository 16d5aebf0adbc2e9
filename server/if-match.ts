import type { Request } from "express";
import { RequestError } from "./problems.ts";

/** A version's number as an entity tag (RFC 9110, section 8.8.3). */
export const versionTag = (version: number) => `"${version}"`;

/**
 * The version that a change was made from.
 *
 * @param where  Where it is told, as a person would say it.
 * @throws {RequestError} `version-missing`.
 */
export function versionIn(req: Request, where: string): number {
  const version = /^"(\d{1,9})"$/.exec(req.get("If-Match") ?? "")?.[1];
  if (version !== undefined) return Number(version);
  throw new RequestError("version-missing", `Say which version you changed: If-Match: "1"; ${where}.`);
}
