import { z } from "zod";
import {
  Id,
  NewRun,
  NewSettingsEntry,
  Run,
  RunChange,
  RunList,
  SettingsEntry,
  SettingsList,
} from "../../vision/contract/index.ts";
import { type Endpoint, endpoint } from "../endpoint.ts";
import type { Parts } from "../parts.ts";
import { askOf, PageQuery } from "../storage/pages.ts";

const At = z.object({ id: Id });

/** Runs, with what the controls stood at. */
export function runRoutes({ data }: Parts): Endpoint[] {
  return [
    endpoint(
      { method: "post", path: "/api/runs", says: "Start a run", body: NewRun, answer: Run, status: 201 },
      async ({ caller, body, res, newId }) => {
        const run = await data.runs.add(caller, body, newId());
        res.location(`/api/runs/${run.id}`);
        return run;
      },
    ),
    endpoint(
      { method: "get", path: "/api/runs", says: "Runs, the latest first", query: PageQuery, answer: RunList },
      ({ caller, query }) => data.runs.list(caller, askOf(query)),
    ),
    endpoint({ method: "get", path: "/api/runs/:id", says: "A run", params: At, answer: Run }, ({ caller, params }) =>
      data.runs.one(caller, params.id),
    ),
    endpoint(
      {
        method: "patch",
        path: "/api/runs/:id",
        says: "End a run, or rename it",
        params: At,
        body: RunChange,
        answer: Run,
      },
      ({ caller, params, body }) => data.runs.change(caller, params.id, body),
    ),
    endpoint(
      {
        method: "post",
        path: "/api/runs/:id/settings",
        says: "Say what the controls stand at",
        params: At,
        body: NewSettingsEntry,
        answer: SettingsEntry,
        status: 201,
      },
      ({ caller, params, body, newId }) => data.runs.addSettings(caller, params.id, body.settings, body.at, newId()),
    ),
    endpoint(
      {
        method: "get",
        path: "/api/runs/:id/settings",
        says: "What the controls stood at, the latest first",
        params: At,
        query: PageQuery,
        answer: SettingsList,
      },
      ({ caller, params, query }) => data.runs.settings(caller, params.id, askOf(query)),
    ),
  ];
}
