import { createPrivateKey } from "node:crypto";
import { describe, expect, it } from "vitest";
import { isSigned, signed } from "../../server/packs/signing.ts";
import { RFC_8032 } from "../published/ed25519.ts";

describe("Ed25519", () => {
  it.each(RFC_8032)("signs and checks as RFC 8032, $test, does", ({ secret, publicKey, message, signature }) => {
    const der = Buffer.from(`302e020100300506032b657004220420${secret}`, "hex"); // PKCS #8 (RFC 8410, section 7)
    const key = createPrivateKey({ key: der, format: "der", type: "pkcs8" });
    const bytes = Buffer.from(message, "hex");
    const made = signed(bytes, key);
    expect(Buffer.from(made.publicKey, "base64url").toString("hex")).toBe(publicKey);
    expect(Buffer.from(made.signature, "base64url").toString("hex")).toBe(signature);
    expect(isSigned(bytes, made)).toBe(true);
    expect(isSigned(Buffer.concat([bytes, Buffer.from([0])]), made)).toBe(false);
  });
});
