import { readFile, writeFile } from "node:fs/promises";
import { join } from "node:path";
import { newSenderKey, type SenderKey } from "./web-push.ts";

/**
 * The key pair that push services know this server by: made once for a data folder. A backup does not hold it; on a restored
 * server devices subscribe anew.
 */
export async function senderKeyOf(folder: string): Promise<SenderKey> {
  const path = join(folder, "push-key");
  try {
    await writeFile(path, JSON.stringify(newSenderKey()), { flag: "wx", mode: 0o600, flush: true });
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code !== "EEXIST") throw error;
  }
  const { privateKey, publicKey } = JSON.parse(await readFile(path, "utf8")) as SenderKey;
  return { privateKey, publicKey };
}
