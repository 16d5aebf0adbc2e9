import type { RequestHandler } from "express";
import { type RateLimitRequestHandler, rateLimit } from "express-rate-limit";
import helmet from "helmet";
import { RequestError } from "./problems.ts";

/** What stands before every route: who is let in, how often, and what a browser may do with an answer. */

/** Only the server's own scripts and styles run; pictures may also come from the page itself; nobody frames it. */
const SCRIPTS = {
  defaultSrc: ["'self'"],
  scriptSrc: ["'self'", "'wasm-unsafe-eval'"],
  workerSrc: ["'self'", "blob:"],
  imgSrc: ["'self'", "blob:", "data:"],
  objectSrc: ["'none'"],
  baseUri: ["'none'"],
  formAction: ["'self'"],
  frameAncestors: ["'none'"],
};

export const safeHeaders: readonly RequestHandler[] = [
  helmet({
    contentSecurityPolicy: { useDefaults: false, directives: SCRIPTS },
    strictTransportSecurity: false, // this server speaks HTTP; what stands before it and speaks HTTPS says so
    referrerPolicy: { policy: "no-referrer" },
    xFrameOptions: { action: "deny" },
  }),
  (_req, res, next) => {
    res.set({ "Permissions-Policy": "camera=(self), microphone=(), geolocation=()", "Cache-Control": "no-store" });
    next();
  },
];

/** Another site in the same browser must not make this server work. Programs that are no browser send no such headers. */
export const ownSiteOnly: RequestHandler = (req, _res, next) => {
  if (req.method === "GET" || req.method === "HEAD") return next();
  const from = req.get("Sec-Fetch-Site");
  const origin = req.get("Origin");
  const other = from
    ? from !== "same-origin" && from !== "none"
    : origin !== undefined && !sameHost(origin, req.get("Host"));
  if (other) throw new RequestError("other-site", "This server answers its own page only.");
  next();
};

function sameHost(origin: string, host: string | undefined): boolean {
  return URL.canParse(origin) && new URL(origin).host === host;
}

/**
 * A server for this computer alone answers to its own names only: otherwise a page elsewhere could give its own name this
 * computer's address, and read what is kept here.
 */
export const ownNameOnly: RequestHandler = (req, _res, next) => {
  const host = (req.get("Host") ?? "").replace(/:\d+$/, "").toLowerCase();
  if (["localhost", "127.0.0.1", "[::1]"].includes(host)) return next();
  throw new RequestError("wrong-host", "This server answers on this computer only: open it as localhost.");
};

/** How many requests one address may make in a minute. */
export interface Limits {
  readonly reads: number;
  readonly writes: number;
}

/** Guessing a pass phrase or a link takes too long at this pace. */
export const limitGuesses = (limit = 20) => limiter(limit, () => false);

/** A made deck takes a process for seconds. */
export const limitMaking = () => limiter(10, () => false);

export function limitRate({ reads, writes }: Limits): readonly RateLimitRequestHandler[] {
  const isRead = (method: string) => method === "GET" || method === "HEAD";
  return [limiter(reads, (method) => !isRead(method)), limiter(writes, isRead)];
}

const limiter = (limit: number, skip: (method: string) => boolean) =>
  rateLimit({
    windowMs: 60_000,
    limit,
    standardHeaders: "draft-8",
    legacyHeaders: false,
    validate: { xForwardedForHeader: false }, // what a stranger says of its address is not believed
    skip: (req) => skip(req.method),
    handler: (_req, _res, next) =>
      next(new RequestError("too-many", "Too many requests came from this address. Wait a minute, then go on.")),
  });
