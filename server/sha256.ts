import { createHash } from "node:crypto";

/** SHA-256 in lower-case hexadecimal: the name of a photo or a reading. */
export const sha256 = (content: Uint8Array | string) => createHash("sha256").update(content).digest("hex");

/** As `sha256`, of bytes as they come. */
export async function sha256Of(source: AsyncIterable<Uint8Array>): Promise<string> {
  const hash = createHash("sha256");
  for await (const part of source) hash.update(part);
  return hash.digest("hex");
}
