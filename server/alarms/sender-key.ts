import type { Secrets } from "../storage/secrets.ts";
import { newSenderKey, type SenderKey } from "./web-push.ts";

/** The key pair that push services know this server by. */
export async function senderKeyOf(secrets: Secrets): Promise<SenderKey> {
  const kept = await secrets.get("push-key", () => JSON.stringify(newSenderKey()));
  const { privateKey, publicKey } = JSON.parse(kept) as SenderKey;
  return { privateKey, publicKey };
}
