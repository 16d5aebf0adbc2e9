import express, { type Express, type RequestHandler } from "express";
import type { Jobs } from "./jobs.ts";
import { answerProblem, nothingHere, RequestError } from "./problems.ts";
import type { Reader } from "./reader.ts";
import { healthRoutes } from "./routes/health.ts";
import { photoRoutes } from "./routes/photos.ts";
import { readingRoutes } from "./routes/readings.ts";
import { sampleRoutes } from "./routes/samples.ts";
import type { Store } from "./store.ts";

export interface Parts {
  readonly store: Store;
  readonly reader: Reader;
  readonly jobs: Jobs;
  /** Folder of the built page. */
  readonly pageFolder: string;
  readonly samplesFolder: string;
}

/** The whole server but for listening: routes, page, and error answers. */
export function createApp({ store, reader, jobs, pageFolder, samplesFolder }: Parts): Express {
  const app = express();
  app.disable("x-powered-by");
  app.use(safeHeaders, ownSiteOnly);
  app.use(healthRoutes(reader));
  app.use("/api/photos", photoRoutes(store, reader));
  app.use("/api/readings", readingRoutes(store, jobs));
  app.use(sampleRoutes(samplesFolder));
  app.use(express.static(pageFolder, { setHeaders: (res) => res.setHeader("Cache-Control", "no-cache") }));
  app.use(nothingHere);
  app.use(answerProblem);
  return app;
}

/** Only the server's own scripts and styles run; pictures may also come from the page itself; nobody frames it. */
const CONTENT_POLICY = [
  "default-src 'self'",
  "script-src 'self' 'wasm-unsafe-eval'",
  "worker-src 'self' blob:",
  "img-src 'self' blob: data:",
  "object-src 'none'",
  "base-uri 'none'",
  "form-action 'self'",
  "frame-ancestors 'none'",
].join("; ");

const safeHeaders: RequestHandler = (_req, res, next) => {
  res.set({
    "Content-Security-Policy": CONTENT_POLICY,
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(self), microphone=(), geolocation=()",
    "Cache-Control": "no-store",
  });
  next();
};

/** Another site in the same browser must not make this server work. Programs that are no browser send no such header. */
const ownSiteOnly: RequestHandler = (req, _res, next) => {
  const from = req.get("Sec-Fetch-Site");
  if (req.method === "GET" || req.method === "HEAD" || !from || from === "same-origin" || from === "none")
    return next();
  throw new RequestError("other-site", "This server answers its own page only.");
};
