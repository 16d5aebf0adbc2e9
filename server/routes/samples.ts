import { Router } from "express";
import type { SampleList } from "../../vision/contract/index.ts";
import { RequestError } from "../problems.ts";
import { listSamples } from "../samples.ts";

/** Sample photos to try, without one's own table at hand. */
export function sampleRoutes(folder: string): Router {
  const routes = Router();

  routes.get("/api/samples", async (_req, res) => {
    res.json({ samples: await listSamples(folder) } satisfies SampleList);
  });

  routes.get("/samples/:file", async (req, res, next) => {
    const photoUrl = `/samples/${req.params.file}`;
    const listed = (await listSamples(folder)).some((sample) => sample.photoUrl === photoUrl);
    if (!listed) throw new RequestError("not-found", "There is no such sample photo.");
    res.sendFile(req.params.file, { root: folder, dotfiles: "deny" }, (error) => {
      if (error) next(error); // called after a success too, where nothing must come next
    });
  });

  return routes;
}
