import express, { type Response, Router } from "express";
import { NewReading, type Reading, type ReadingReceipt } from "../../vision/contract/index.ts";
import type { JobEvent, Jobs } from "../jobs.ts";
import { idIn, parse, RequestError } from "../problems.ts";
import type { PictureName, Store } from "../store.ts";

/** Between two signs of life on a quiet event stream, so that proxies keep it open. */
const HEARTBEAT_MS = 15_000;
const PICTURES: readonly PictureName[] = ["overlay.jpg", "classes.png", "confidence.png"];

/** Readings of photos that were sent before. */
export function readingRoutes(store: Store, jobs: Jobs): Router {
  const routes = Router();

  routes.post("/", express.json({ limit: "1mb" }), async (req, res) => {
    const receipt: ReadingReceipt = { id: await jobs.start(parse(NewReading, req.body)) };
    res.status(202).location(`/api/readings/${receipt.id}`).json(receipt);
  });

  routes.get("/:id", async (req, res) => {
    const id = idIn(req);
    const latest = jobs.latest(id); // asked before the store: a job ends only when its reading is kept
    if (latest?.event === "problem") {
      res.status(latest.data.status).type("application/problem+json").send(JSON.stringify(latest.data));
    } else if (latest) res.status(202).json({ id } satisfies ReadingReceipt);
    else res.json(await kept(store, id));
  });

  routes.delete("/:id", (req, res) => {
    if (!jobs.leave(idIn(req))) throw new RequestError("not-found", "No such reading is under way.");
    res.status(204).end();
  });

  routes.get("/:id/events", async (req, res) => {
    const id = idIn(req);
    const latest: JobEvent = jobs.latest(id) ?? {
      event: "done",
      data: { id, usable: (await kept(store, id)).quality.usable },
    };
    res.set({ "Content-Type": "text/event-stream", "Cache-Control": "no-store", "X-Accel-Buffering": "no" });
    res.flushHeaders();
    stream(res, (hear) => jobs.listen(id, hear), latest);
  });

  for (const name of PICTURES) {
    routes.get(`/:id/${name}`, async (req, res) => {
      const picture = await store.picture(idIn(req), name);
      if (!picture)
        throw new RequestError("not-found", "There is no such picture: the reading is unusable or not made yet.");
      res.type(name).set("Cache-Control", "private, max-age=31536000, immutable").send(picture);
    });
  }

  return routes;
}

/** Send events until the last one; `otherwise` is sent when there is nothing to listen to. */
function stream(
  res: Response,
  listen: (hear: (event: JobEvent) => void) => (() => void) | null,
  otherwise: JobEvent,
): void {
  const alive = setInterval(() => res.write(": still here\n\n"), HEARTBEAT_MS);
  let stop: (() => void) | null = null;
  const end = () => {
    clearInterval(alive);
    stop?.();
  };
  const send = ({ event, data }: JobEvent) => {
    res.write(`event: ${event}\ndata: ${JSON.stringify(data)}\n\n`);
    if (event === "stage") return;
    end();
    res.end();
  };
  res.on("close", end);
  stop = listen(send);
  if (!stop && !res.writableEnded) send(otherwise);
}

async function kept(store: Store, id: string): Promise<Reading> {
  const reading = await store.reading(id);
  if (!reading) throw new RequestError("not-found", "There is no such reading here. Ask for it again.");
  return reading;
}
