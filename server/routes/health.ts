import { Health, Ready } from "../../vision/contract/index.ts";
import { type Endpoint, endpoint } from "../endpoint.ts";
import type { Parts } from "../parts.ts";
import { siteOf } from "../storage/data.ts";
import { VERSION } from "../version.ts";

/** Least room on the disk to call the server ready, bytes. */
const ROOM_BYTES = 100e6;

/** What those ask who watch over the server: is it there, can it work, how does it fare? */
export function healthRoutes({ data, reader, metrics, stopping }: Parts): Endpoint[] {
  return [
    endpoint(
      { method: "get", path: "/healthz", right: "anyone", says: "Whether the server is there", answer: Health },
      async () => ({
        ok: true,
        version: VERSION,
        waiting: reader.waiting,
      }),
    ),
    endpoint(
      {
        method: "get",
        path: "/readyz",
        right: "anyone",
        says: "Whether it can do its work; 503 where something is wrong",
        answer: Ready,
      },
      async ({ res }) => {
        const database = await siteOf(data, data.local).then(
          () => true,
          () => false,
        );
        const disk = (await data.blobs.free().catch(() => 0)) > ROOM_BYTES;
        const ready = { ready: database && disk && !stopping.aborted, database, disk, stopping: stopping.aborted };
        res.status(ready.ready ? 200 : 503);
        return ready;
      },
    ),
    endpoint(
      { method: "get", path: "/metrics", right: "own", says: "Numbers for Prometheus", answerType: "text/plain" },
      async ({ res }) => {
        const text = await metrics.text();
        res.set("Content-Type", metrics.type).send(text);
      },
    ),
  ];
}
