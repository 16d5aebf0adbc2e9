import { createHash } from "node:crypto";

/** SHA-256 in lower-case hexadecimal: the name of a photo or a reading. */
export const sha256 = (content: Uint8Array | string) => createHash("sha256").update(content).digest("hex");
