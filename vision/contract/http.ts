import { z } from "zod";
import { DeckFile } from "./deck-file.ts";
import { EarlierLook, MOST_EARLIER } from "./earlier-look.ts";
import { AimFile, CornersFile, MaterialProfile, SettingsFile, TapsFile } from "./notes.ts";
import { DeckState } from "./reading.ts";
import { SaidText } from "./said.ts";

/**
 * What the page and the server say to each other; `stored.ts` has what is kept beyond that. The addresses stand in
 * `server/routes/`, and the server tells them all, with these schemas, at /api/openapi.json.
 *
 * Everything that fails answers `application/problem+json`: Problem (RFC 9457).
 */

/** A photo's or a reading's name in an address: SHA-256 in hexadecimal. */
export const ContentId = z.string().regex(/^[0-9a-f]{64}$/, "must be 64 characters 0-9 a-f");
/** Longest side of a preview, pixels. */
export const PREVIEW_PX = 2000;

/** A photo the server has taken in. Width and height of the upright photo, full size, pixels. */
export const PhotoReceipt = z.strictObject({
  id: ContentId,
  name: z.string(),
  widthPx: z.number().int().positive(),
  heightPx: z.number().int().positive(),
  takenAt: z.string().nullable(),
});
export type PhotoReceipt = z.infer<typeof PhotoReceipt>;

/** Read this photo. Corners null: find them by marks, or answer that they are wanted. */
export const NewReading = z.strictObject({
  photo: ContentId,
  corners: CornersFile.nullable().default(null),
  deck: DeckFile.optional(),
  /** Instead of `deck`: a deck that the server keeps, as its newest version says. */
  deckId: z.uuid().optional(),
  taps: TapsFile.optional(),
  settings: SettingsFile.optional(),
  aim: AimFile.optional(),
  profile: MaterialProfile.optional(),
  /** Earlier looks at this deck, oldest first: then one photo more does not change the advice, and several tell an edge better. */
  earlier: z.array(EarlierLook).max(MOST_EARLIER).optional(),
  /** What the frames of a burst told before they became this photo. */
  deckState: DeckState.optional(),
});
export type NewReading = z.infer<typeof NewReading>;
/** A request as the page writes it: what has a default may be left out. */
export type NewReadingInput = z.input<typeof NewReading>;

export const ReadingReceipt = z.strictObject({ id: ContentId });
export type ReadingReceipt = z.infer<typeof ReadingReceipt>;

/** What is being done to a photo, in order; `waiting` while another photo is read. */
export const STAGE_NAMES = ["waiting", "photo", "view", "rectify", "light", "classes", "bands", "advice"] as const;
export const StageEvent = z.strictObject({ stage: z.enum(STAGE_NAMES) });
export type StageEvent = z.infer<typeof StageEvent>;
export const DoneEvent = z.strictObject({ id: ContentId, usable: z.boolean() });
export type DoneEvent = z.infer<typeof DoneEvent>;

/** Why a request failed: `detail` is for people and says what to do; `code` is stable. */
export const Problem = z.object({
  type: z.string(),
  title: z.string(),
  status: z.number().int(),
  detail: z.string(),
  code: z.string(),
  /** The fields at fault, where a body was wrong. */
  fields: z.array(z.strictObject({ field: z.string(), say: z.string() })).optional(),
  /** `detail` by name, for other languages, where it has names. */
  said: SaidText.optional(),
});
export type Problem = z.infer<typeof Problem>;

/** A sample photo ready to try, with what belongs to it. Addresses are on the same server. */
export const Sample = z.strictObject({
  name: z.string(),
  title: z.string(),
  photoUrl: z.string(),
  deck: DeckFile.nullable(),
  corners: CornersFile.nullable(),
});
export type Sample = z.infer<typeof Sample>;
export const SampleList = z.strictObject({ samples: z.array(Sample) });
export type SampleList = z.infer<typeof SampleList>;

export const Health = z.strictObject({
  ok: z.boolean(),
  version: z.string(),
  /** Photos waiting or being read. */
  waiting: z.number().int().min(0),
});
export type Health = z.infer<typeof Health>;

/** Whether the server can do its work, and what keeps it from that. */
export const Ready = z.strictObject({
  ready: z.boolean(),
  database: z.boolean(),
  /** Whether the disk has room. */
  disk: z.boolean(),
  stopping: z.boolean(),
});
export type Ready = z.infer<typeof Ready>;
