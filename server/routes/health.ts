import { Router } from "express";
import type { Health } from "../../vision/contract/index.ts";
import type { Reader } from "../reader.ts";
import { VERSION } from "../version.ts";

/** Is the server there, and how many photos wait? */
export function healthRoutes(reader: Reader): Router {
  const routes = Router();
  routes.get("/healthz", (_req, res) => {
    res.json({ ok: true, version: VERSION, waiting: reader.waiting } satisfies Health);
  });
  return routes;
}
