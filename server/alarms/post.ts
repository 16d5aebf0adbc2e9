import { lookup } from "node:dns";
import { request } from "node:https";
import { BlockList, isIP, type LookupFunction } from "node:net";
import type { PushRequest } from "./web-push.ts";

/** Sends to a push service. @returns the status it answered; null when it was not reached. */
export type Post = (request: PushRequest) => Promise<number | null>;

const PATIENCE_MS = 10_000;

/**
 * Addresses that no push service has: a subscription must not make this server ask its own network.
 * Source: IANA special-purpose address registries (RFC 6890 and its successors).
 */
const CLOSED = new BlockList();
for (const [net, bits] of [
  ["0.0.0.0", 8],
  ["10.0.0.0", 8],
  ["100.64.0.0", 10],
  ["127.0.0.0", 8],
  ["169.254.0.0", 16],
  ["172.16.0.0", 12],
  ["192.0.0.0", 24],
  ["192.0.2.0", 24],
  ["192.168.0.0", 16],
  ["198.18.0.0", 15],
  ["198.51.100.0", 24],
  ["203.0.113.0", 24],
  ["224.0.0.0", 3],
] as const) {
  CLOSED.addSubnet(net, bits, "ipv4");
}
const OPEN6 = new BlockList();
OPEN6.addSubnet("2000::", 3, "ipv6");
for (const [net, bits] of [
  ["2001::", 23],
  ["2001:db8::", 32],
  ["2002::", 16],
] as const) {
  CLOSED.addSubnet(net, bits, "ipv6");
}

/** Whether anybody on the internet could be at this address. */
export function isPublic(address: string): boolean {
  const family = isIP(address);
  if (family === 4) return !CLOSED.check(address, "ipv4");
  return family === 6 && OPEN6.check(address, "ipv6") && !CLOSED.check(address, "ipv6");
}

/** Whether a subscription may point there: HTTPS at its usual port, by name, without a password in it. */
export function mayBePushService(endpoint: string): boolean {
  if (!URL.canParse(endpoint)) return false;
  const { protocol, port, hostname, username, password } = new URL(endpoint);
  const named =
    hostname.includes(".") && isIP(hostname) === 0 && !/\.(local|internal|localhost|home\.arpa)$/.test(hostname);
  return protocol === "https:" && port === "" && username === "" && password === "" && named;
}

/** Names are looked up once, and only public addresses connected to: the name cannot mean another one a moment later. */
const publicOnly: LookupFunction = (name, options, done) => {
  lookup(name, { ...options, all: true }, (error, addresses) => {
    const found = error ? [] : addresses.filter(({ address }) => isPublic(address));
    if (found.length === 0) return done(error ?? new Error(`${name} has no public address`), "", 4);
    if (options.all) return done(null, found);
    done(null, found[0]!.address, found[0]!.family);
  });
};

/** Nothing that the service answers is kept or shown but its status; redirections are not followed. */
export const postOverHttps: Post = ({ url, headers, body }) =>
  new Promise((resolve) => {
    const asked = request(
      url,
      {
        method: "POST",
        headers: { ...headers, "Content-Length": body.length },
        lookup: publicOnly,
        timeout: PATIENCE_MS,
      },
      (answer) => {
        answer.destroy();
        resolve(answer.statusCode ?? null);
      },
    );
    asked.on("timeout", () => asked.destroy());
    asked.on("error", () => resolve(null));
    asked.end(body);
  });
