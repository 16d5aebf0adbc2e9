import { randomBytes } from "node:crypto";
import { sha256 } from "../sha256.ts";

/** A secret for a link or a device: 256 random bits. Only its digest is kept, so a stolen database opens nothing. */
export function newToken(): { token: string; digest: string } {
  const token = randomBytes(32).toString("base64url");
  return { token, digest: sha256(token) };
}

/** What is kept of a token; null for what cannot be one. */
export const digestOf = (token: string) => (/^[\w-]{43}$/.test(token) ? sha256(token) : null);
