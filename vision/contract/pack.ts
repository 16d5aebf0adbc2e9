import { z } from "zod";
import { Reference } from "./gallery.ts";
import { NewLesson } from "./lesson.ts";
import { SchemaVersion } from "./shapes.ts";
import { Id, Time } from "./stored.ts";

/** Gallery or lessons as one file for a place without a network: a ZIP of JPEG, PNG and this list, signed. */

const Words = z.string().trim().min(1).max(200);
const Digest = z.string().regex(/^[0-9a-f]{64}$/);
/** Most references and lessons of one pack. */
export const PACK_LIMITS = { references: 2000, lessons: 200 } as const;

/** `pack.json`: what is in a pack. Pictures are named by their references' ids, digests by SHA-256. */
export const PackFile = z.strictObject({
  kind: z.literal("deckbands pack"),
  schemaVersion: SchemaVersion,
  name: Words,
  madeAt: Time,
  /** Site and person that made it, as they call themselves. */
  site: Words,
  by: Words,
  references: z
    .array(z.strictObject({ reference: Reference, photoSha256: Digest, classesSha256: Digest.nullable() }))
    .max(PACK_LIMITS.references),
  lessons: z.array(NewLesson.extend({ id: Id })).max(PACK_LIMITS.lessons),
});
export type PackFile = z.infer<typeof PackFile>;

/** `signature.json`: Ed25519 (RFC 8032) over the bytes of `pack.json`; key and signature in base64url. */
export const PackSignature = z.strictObject({
  schemaVersion: SchemaVersion,
  algorithm: z.literal("Ed25519"),
  publicKey: z.string().regex(/^[\w-]{43}$/),
  signature: z.string().regex(/^[\w-]{86}$/),
});
export type PackSignature = z.infer<typeof PackSignature>;

/** The start of SHA-256 of a public key: what people read to each other over the telephone. */
export const PackKey = z.string().regex(/^[0-9a-f]{4}(-[0-9a-f]{4}){4}$/);

/** What a pack holds, once it was checked and before anything is taken in. */
export const PackLook = z.strictObject({
  name: Words,
  madeAt: Time,
  site: Words,
  by: Words,
  key: PackKey,
  /** Whether a pack of this key was taken in here before; `own`: this site's own key. */
  known: z.enum(["own", "before", "no"]),
  references: z.number().int(),
  lessons: z.array(Words),
  licences: z.array(z.string()),
  authors: z.array(z.string()),
});
export type PackLook = z.infer<typeof PackLook>;

/** What became of it: what is new here, and what was here already. */
export const PackTaken = z.strictObject({
  name: Words,
  references: z.strictObject({ added: z.number().int(), here: z.number().int() }),
  lessons: z.strictObject({ added: z.number().int(), here: z.number().int() }),
});
export type PackTaken = z.infer<typeof PackTaken>;
