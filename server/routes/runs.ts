import { z } from "zod";
import {
  ContentId,
  Id,
  NewRun,
  NewSettingsEntry,
  ReportList,
  ReportReceipt,
  Run,
  RunChange,
  RunList,
  SettingsEntry,
  SettingsList,
} from "../../vision/contract/index.ts";
import { type Endpoint, endpoint } from "../endpoint.ts";
import type { Parts } from "../parts.ts";
import { RequestError } from "../problems.ts";
import { sendBlob } from "../send-blob.ts";
import { askOf, PageQuery } from "../storage/pages.ts";

const At = z.object({ id: Id });

/** Runs, with what the controls stood at, and reports of them. */
export function runRoutes({ data, jobs }: Parts): Endpoint[] {
  return [
    endpoint(
      { method: "post", path: "/api/runs", right: "work", says: "Start a run", body: NewRun, answer: Run, status: 201 },
      async ({ caller, body, res, newId }) => {
        const run = await data.runs.add(caller, body, newId());
        res.location(`/api/runs/${run.id}`);
        return run;
      },
    ),
    endpoint(
      {
        method: "get",
        path: "/api/runs",
        right: "see",
        says: "Runs, the latest first",
        query: PageQuery,
        answer: RunList,
      },
      ({ caller, query }) => data.runs.list(caller, askOf(query)),
    ),
    endpoint(
      { method: "get", path: "/api/runs/:id", right: "see", says: "A run", params: At, answer: Run },
      ({ caller, params }) => data.runs.one(caller, params.id),
    ),
    endpoint(
      {
        method: "patch",
        path: "/api/runs/:id",
        right: "work",
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
        right: "work",
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
        right: "see",
        says: "What the controls stood at, the latest first",
        params: At,
        query: PageQuery,
        answer: SettingsList,
      },
      ({ caller, params, query }) => data.runs.settings(caller, params.id, askOf(query)),
    ),
    endpoint(
      {
        method: "post",
        path: "/api/runs/:id/reports",
        right: "work",
        says: "Have a run told on a page to print or send; the job's id is the report's",
        params: At,
        answer: ReportReceipt,
        status: 202,
      },
      async ({ caller, params, res, newId }) => {
        const id = await jobs.report(caller, params.id, newId);
        res.location(`/api/reports/${id}`);
        return { id };
      },
    ),
    endpoint(
      {
        method: "get",
        path: "/api/runs/:id/reports",
        right: "see",
        says: "Reports of a run, the latest first",
        params: At,
        query: PageQuery,
        answer: ReportList,
      },
      async ({ caller, params, query }) => {
        await data.runs.one(caller, params.id);
        return data.reports.list(caller, params.id, askOf(query));
      },
    ),
    endpoint(
      {
        method: "get",
        path: "/api/reports/:id",
        right: "see",
        says: "A report's page",
        params: z.object({ id: ContentId }),
        answerType: "text/html",
      },
      async ({ caller, params, req, res }) => {
        const blob = await data.reports.page(caller, params.id);
        res.set("Content-Security-Policy", "sandbox; default-src 'none'"); // it holds what people typed
        if (!blob || !(await sendBlob(req, res, data.blobs, blob, "text/html"))) {
          throw new RequestError("not-found", "There is no such report, or it is not made yet: look at its job.");
        }
      },
    ),
  ];
}
