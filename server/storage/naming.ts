import { randomUUID } from "node:crypto";

/** 122 random bits: nobody guesses another one from those they know. */
export const newId = (): string => randomUUID();
/** A UUID that follows from a SHA-256 in hexadecimal (RFC 9562, section 5.8: version 8). */
export function idFrom(hex: string): string {
  const variant = ((Number.parseInt(hex.slice(16, 17), 16) & 3) | 8).toString(16);
  return `${hex.slice(0, 8)}-${hex.slice(8, 12)}-8${hex.slice(13, 16)}-${variant}${hex.slice(17, 20)}-${hex.slice(20, 32)}`;
}
/** The moment, as rows keep it: UTC to the millisecond, so that text sorts by time. */
export const now = () => new Date().toISOString();
/** A moment so many ms from now. */
export const inMs = (ms: number) => new Date(Date.now() + ms).toISOString();
