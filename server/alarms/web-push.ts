import { createCipheriv, createECDH, createPrivateKey, hkdfSync, randomBytes, sign } from "node:crypto";

/** Messages to browsers that are closed, by open standards alone: RFC 8030 (push), 8291 (encryption), 8292 (who sends). */

/** What a browser gave when it subscribed; keys in base64url. */
export interface Subscribed {
  readonly endpoint: string;
  /** Its public key, an uncompressed point of P-256, and its secret of 16 bytes. */
  readonly p256dh: string;
  readonly auth: string;
}

/** The server's own key pair, as base64url of the private scalar and the uncompressed public point. */
export interface SenderKey {
  readonly privateKey: string;
  readonly publicKey: string;
}

export interface PushRequest {
  readonly url: string;
  readonly headers: Readonly<Record<string, string>>;
  readonly body: Uint8Array;
}

/** One record holds all of it; longer messages are no push messages (RFC 8291, section 4). */
const RECORD_BYTES = 4096;
export const MOST_BYTES = 3800;
/** How long a push service keeps the message for a device that is off, s; how long it may know who sent it, s. */
const KEPT_SECONDS = 4 * 60 * 60;
const KNOWN_SECONDS = 12 * 60 * 60;

const decode = (text: string) => Buffer.from(text, "base64url");

export function newSenderKey(): SenderKey {
  const pair = createECDH("prime256v1");
  pair.generateKeys();
  return { privateKey: pair.getPrivateKey("base64url"), publicKey: pair.getPublicKey("base64url") };
}

/**
 * A message that only the subscribed browser can read.
 *
 * @param plain  At most `MOST_BYTES`.
 * @param once   Key pair and salt of this one message; drawn anew unless told, as they must be.
 * @returns the body, with its header (aes128gcm, RFC 8188).
 * @throws {RangeError} for a message too long, {Error} for a key that is no point of the curve.
 * Source: RFC 8291, sections 3.3 and 3.4; checked against its appendix A.
 */
export function encrypted(
  plain: Uint8Array,
  { p256dh, auth }: Pick<Subscribed, "p256dh" | "auth">,
  once: { readonly key: SenderKey; readonly salt: Uint8Array } = { key: newSenderKey(), salt: randomBytes(16) },
): Uint8Array {
  if (plain.length > MOST_BYTES) throw new RangeError(`A push message has at most ${MOST_BYTES} bytes.`);
  const [theirs, ours] = [decode(p256dh), decode(once.key.publicKey)];
  const pair = createECDH("prime256v1");
  pair.setPrivateKey(decode(once.key.privateKey));
  const shared = pair.computeSecret(theirs);
  const info = Buffer.concat([Buffer.from("WebPush: info\0"), theirs, ours]);
  const secret = Buffer.from(hkdfSync("sha256", shared, decode(auth), info, 32));
  const content = hkdfSync("sha256", secret, once.salt, "Content-Encoding: aes128gcm\0", 16);
  const nonce = hkdfSync("sha256", secret, once.salt, "Content-Encoding: nonce\0", 12);
  const cipher = createCipheriv("aes-128-gcm", Buffer.from(content), Buffer.from(nonce));
  // 2 ends the last record
  const sealed = Buffer.concat([
    cipher.update(plain),
    cipher.update(Buffer.from([2])),
    cipher.final(),
    cipher.getAuthTag(),
  ]);
  const size = Buffer.alloc(4);
  size.writeUInt32BE(RECORD_BYTES);
  return new Uint8Array(Buffer.concat([once.salt, size, Buffer.from([ours.length]), ours, sealed]));
}

/**
 * Who sends, so that a push service can reach them when something is wrong.
 *
 * @param endpoint  Of the subscription: the claim is for its origin alone.
 * @param contact   An https: or mailto: address; null where none is known.
 * @param nowSeconds  Since 1970.
 * Source: RFC 8292, sections 2 and 3 (JWT of RFC 7519, ES256 of RFC 7518, section 3.4).
 */
export function senderClaim(endpoint: string, key: SenderKey, contact: string | null, nowSeconds: number): string {
  const part = (value: object) => Buffer.from(JSON.stringify(value)).toString("base64url");
  const claims = {
    aud: new URL(endpoint).origin,
    exp: Math.floor(nowSeconds) + KNOWN_SECONDS,
    ...(contact && { sub: contact }),
  };
  const told = `${part({ typ: "JWT", alg: "ES256" })}.${part(claims)}`;
  const point = decode(key.publicKey);
  const jwk = {
    kty: "EC",
    crv: "P-256",
    x: point.subarray(1, 33).toString("base64url"),
    y: point.subarray(33).toString("base64url"),
    d: key.privateKey,
  };
  const privateKey = createPrivateKey({ key: jwk, format: "jwk" });
  const signature = sign("sha256", Buffer.from(told), { key: privateKey, dsaEncoding: "ieee-p1363" });
  return `vapid t=${told}.${signature.toString("base64url")}, k=${key.publicKey}`;
}

/**
 * All of a push request.
 *
 * @param topic  A later message of the same topic takes the place of one that was not delivered yet (RFC 8030, section 5.4).
 */
export function pushRequest(
  to: Subscribed,
  plain: Uint8Array,
  key: SenderKey,
  {
    contact,
    topic,
    nowSeconds,
  }: { readonly contact: string | null; readonly topic: string; readonly nowSeconds: number },
): PushRequest {
  return {
    url: to.endpoint,
    headers: {
      Authorization: senderClaim(to.endpoint, key, contact, nowSeconds),
      "Content-Encoding": "aes128gcm",
      "Content-Type": "application/octet-stream",
      TTL: String(KEPT_SECONDS),
      Urgency: "high",
      Topic: topic,
    },
    body: encrypted(plain, to),
  };
}
