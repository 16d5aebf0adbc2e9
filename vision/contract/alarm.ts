import { z } from "zod";
import { DriftEvent } from "./drift.ts";
import { ContentId } from "./http.ts";
import { listOf } from "./shapes.ts";
import { Id, Time } from "./stored.ts";

/** Something that moved lately on a deck: the photo that raised it, and since when. */
export const Alarm = z.strictObject({
  deck: Id,
  deckName: z.string(),
  photo: ContentId,
  reading: ContentId,
  at: z.string(),
  since: z.string(),
  event: DriftEvent,
});
export type Alarm = z.infer<typeof Alarm>;
/** Of a site's decks, the latest first. */
export const AlarmList = z.strictObject({ items: z.array(Alarm) });

/** What browsers want before they subscribe: the server's public key (RFC 8292), an uncompressed point in base64url. */
export const PushKey = z.strictObject({ publicKey: z.string() });

const Base64Url = (bytes: number) =>
  z
    .string()
    .regex(new RegExp(`^[A-Za-z0-9_-]{${Math.ceil((bytes * 4) / 3)}}={0,2}$`), `must be ${bytes} bytes in base64url`);
/** A device that is to be told of alarms while its page is closed: its subscription (RFC 8030, 8291), and in which language. */
export const NewPush = z.strictObject({
  endpoint: z.url().max(2000),
  keys: z.strictObject({ p256dh: Base64Url(65), auth: Base64Url(16) }),
  language: z.string().regex(/^[a-z]{2,3}$/),
});
export type NewPush = z.infer<typeof NewPush>;
export const Push = z.strictObject({ id: Id, language: z.string(), madeAt: Time });
export type Push = z.infer<typeof Push>;
export const PushList = listOf(Push);
