import {
  createHash,
  createPrivateKey,
  createPublicKey,
  generateKeyPairSync,
  type KeyObject,
  sign,
  verify,
} from "node:crypto";
import type { PackSignature } from "../../vision/contract/index.ts";
import type { Secrets } from "../storage/secrets.ts";

/** Ed25519 (RFC 8032) over the bytes of a pack's list. */

/** This server's own key. */
export async function packKeyOf(secrets: Secrets): Promise<KeyObject> {
  const made = () => generateKeyPairSync("ed25519").privateKey.export({ type: "pkcs8", format: "pem" }).toString();
  return createPrivateKey(await secrets.get("pack-key.pem", made));
}

export function signed(bytes: Uint8Array, key: KeyObject): PackSignature {
  return {
    schemaVersion: 1,
    algorithm: "Ed25519",
    publicKey: publicPart(key),
    signature: sign(null, bytes, key).toString("base64url"),
  };
}

/** Whether whoever holds this public key's other half signed these bytes. */
export function isSigned(bytes: Uint8Array, { publicKey, signature }: PackSignature): boolean {
  try {
    const key = createPublicKey({ key: { kty: "OKP", crv: "Ed25519", x: publicKey }, format: "jwk" });
    return verify(null, bytes, key, Buffer.from(signature, "base64url"));
  } catch {
    return false; // no point of the curve
  }
}

export const publicPart = (key: KeyObject): string => createPublicKey(key).export({ format: "jwk" }).x!;

/** A public key as people read it to each other: 80 bits of its SHA-256. */
export function keyWords(publicKey: string): string {
  const hex = createHash("sha256").update(Buffer.from(publicKey, "base64url")).digest("hex");
  return hex.slice(0, 20).match(/.{4}/g)!.join("-");
}
