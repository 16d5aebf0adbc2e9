import { randomUUID } from "node:crypto";

/** 122 random bits: nobody guesses another one from those they know. */
export const newId = (): string => randomUUID();
/** The moment, as rows keep it: UTC to the millisecond, so that text sorts by time. */
export const now = () => new Date().toISOString();
/** A moment so many ms from now. */
export const inMs = (ms: number) => new Date(Date.now() + ms).toISOString();
