import type { RequestHandler } from "express";
import { Counter, collectDefaultMetrics, Gauge, Histogram, Registry } from "prom-client";
import type { Jobs } from "./jobs/jobs.ts";
import type { Reader } from "./reader.ts";
import { JOB_STATES } from "./storage/tables.ts";

/** What Prometheus is told. Paths are told as routes, without the ids in them. */
export class Metrics {
  readonly #registry = new Registry();
  readonly #seconds: Histogram<"method" | "route" | "status">;
  readonly photos: Counter;

  constructor(jobs: Jobs, reader: Reader) {
    const registers = [this.#registry];
    collectDefaultMetrics({ register: this.#registry, prefix: "deckbands_" });
    this.#seconds = new Histogram({
      name: "deckbands_request_seconds",
      help: "How long requests took to answer, seconds.",
      labelNames: ["method", "route", "status"],
      buckets: [0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1, 2.5, 5, 10],
      registers,
    });
    this.photos = new Counter({ name: "deckbands_photos_total", help: "Photos taken in.", registers });
    new Gauge({
      name: "deckbands_jobs",
      help: "Jobs in each state.",
      labelNames: ["state"],
      registers,
      async collect() {
        const counts = await jobs.counts();
        for (const state of JOB_STATES) this.set({ state }, counts[state] ?? 0);
      },
    });
    new Gauge({
      name: "deckbands_photos_in_hand",
      help: "Photos that a process works on, or that wait for one.",
      registers,
      collect() {
        this.set(reader.waiting);
      },
    });
  }

  readonly watch: RequestHandler = (req, res, next) => {
    const end = this.#seconds.startTimer({ method: req.method });
    res.on("close", () =>
      end({
        route: String(req.route?.path ?? "other")
          .split(",")
          .at(-1),
        status: res.statusCode,
      }),
    );
    next();
  };

  get type(): string {
    return this.#registry.contentType;
  }

  text(): Promise<string> {
    return this.#registry.metrics();
  }
}
