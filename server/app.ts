import type { ServerResponse } from "node:http";
import { join, sep } from "node:path";
import express, { type Express } from "express";
import staticCompressed from "express-static-gzip";
import { answerAt, type Endpoint, endpoint } from "./endpoint.ts";
import { limitGuesses, limitMaking, limitRate, ownNameOnly, ownSiteOnly, safeHeaders } from "./guards.ts";
import { describeApi } from "./openapi.ts";
import type { Parts } from "./parts.ts";
import { answerProblem, nothingHere } from "./problems.ts";
import { alarmRoutes } from "./routes/alarms.ts";
import { deckRoutes } from "./routes/decks.ts";
import { driftRoutes } from "./routes/drift.ts";
import { galleryRoutes } from "./routes/gallery.ts";
import { healthRoutes } from "./routes/health.ts";
import { jobRoutes } from "./routes/jobs.ts";
import { lessonRoutes } from "./routes/lessons.ts";
import { answerLogIn } from "./routes/log-in.ts";
import { markUpRoutes } from "./routes/mark-ups.ts";
import { packRoutes } from "./routes/packs.ts";
import { peopleRoutes } from "./routes/people.ts";
import { photoRoutes } from "./routes/photos.ts";
import { readingRoutes } from "./routes/readings.ts";
import { reviewRoutes } from "./routes/reviews.ts";
import { runAccountRoutes } from "./routes/run-accounts.ts";
import { runLogRoutes } from "./routes/run-log.ts";
import { runRoutes } from "./routes/runs.ts";
import { saidRoutes } from "./routes/said.ts";
import { sampleRoutes } from "./routes/samples.ts";
import { shareRoutes } from "./routes/shares.ts";
import { siteRoutes } from "./routes/site.ts";
import { answerUploads } from "./routes/uploads.ts";
import { galleryStock } from "./storage/gallery.ts";

/** Folders that are served: the built page and the sample photos. */
export interface Folders {
  readonly page: string;
  readonly samples: string;
}

/** The whole server but for listening: routes, page, and error answers. */
export function createApp(parts: Parts, folders: Folders): Express {
  const app = express();
  app.set("query parser", "simple");
  if (parts.logIn) app.set("trust proxy", "loopback"); // a proxy on this computer says whom it asks for
  const guards = [...safeHeaders, ...(parts.logIn ? [] : [ownNameOnly]), ownSiteOnly];
  app.use(...guards, parts.metrics.watch);
  app.use("/api", ...limitRate(parts.limits));
  if (parts.logIn) {
    app.post(["/log-in", "/join/:token"], limitGuesses());
    app.use("/api/auth", limitGuesses(100));
    answerLogIn(app, parts);
  }
  app.use("/share", limitGuesses(300));
  app.post("/api/gallery/made", limitMaking());
  parts.tidied(answerUploads(app, parts));
  const nobody = { ...parts.data.local, role: "operator" as const };
  answerAt(app, endpointsOf(parts, folders), { who: parts.who, nobody, answers: parts.answers });
  app.use(servePage(folders.page));
  app.use(nothingHere);
  app.use(answerProblem(parts.log));
  return app;
}

/** A process that only reads photos tells how it fares, and nothing else. */
export function createHealthApp(parts: Parts): Express {
  const app = express();
  app.use(...safeHeaders, parts.metrics.watch);
  const nobody = { ...parts.data.local, role: "operator" as const };
  answerAt(app, healthRoutes(parts), { who: parts.who, nobody, answers: parts.answers });
  app.use(nothingHere);
  app.use(answerProblem(parts.log));
  return app;
}

/** The built page, as the Brotli or gzip copies that lie beside its files where a browser takes them. */
function servePage(folder: string) {
  return staticCompressed(folder, {
    enableBrotli: true,
    orderPreference: ["br", "gz"],
    serveStatic: { setHeaders: (res: ServerResponse, path: string) => res.setHeader("Cache-Control", keptFor(path)) },
  });
}
/** Names in these folders have a digest of what is in the file: it never changes. */
const keptFor = (path: string) =>
  path.split(sep).some((name) => name === "assets" || name === "reading")
    ? "public, max-age=31536000, immutable"
    : "no-cache";

/** Every address the API has, its own description among them. */
export function endpointsOf(parts: Parts, folders: Folders): Endpoint[] {
  const stock = galleryStock(join(folders.samples, "gallery"));
  const all: Endpoint[] = [
    ...photoRoutes(parts),
    ...readingRoutes(parts),
    ...saidRoutes(parts),
    ...markUpRoutes(parts),
    ...reviewRoutes(parts),
    ...galleryRoutes(parts, stock),
    ...lessonRoutes(parts, stock),
    ...packRoutes(parts, stock),
    ...deckRoutes(parts),
    ...runRoutes(parts),
    ...runLogRoutes(parts),
    ...runAccountRoutes(parts),
    ...driftRoutes(parts),
    ...alarmRoutes(parts),
    ...siteRoutes(parts),
    ...peopleRoutes(parts),
    ...shareRoutes(parts),
    ...jobRoutes(parts),
    ...sampleRoutes(folders.samples),
    ...healthRoutes(parts),
  ];
  let description: object | null = null;
  const described = endpoint(
    {
      method: "get",
      path: "/api/openapi.json",
      right: "anyone",
      says: "This document",
      answerType: "application/json",
    },
    async ({ res }) => {
      description ??= describeApi([...all, described]);
      res.json(description);
    },
  );
  return [...all, described];
}
