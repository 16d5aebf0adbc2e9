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
import { pagePolicy } from "../jobs/report-page.ts";
import type { Parts } from "../parts.ts";
import { RequestError } from "../problems.ts";
import { sendBlob } from "../send-blob.ts";
import { LanguageQuery, languageAsked } from "../speech.ts";
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
        says: "Have a run, or its part such as a shift, told on a page, as PDF and as CSV data, in the language named or asked for by Accept-Language; the job's id is the report's",
        params: At,
        query: LanguageQuery.extend({ from: Moment.optional(), to: Moment.optional() }),
        answer: ReportReceipt,
        status: 202,
      },
      async ({ caller, params, query, req, res, newId }) => {
        const language = query.language ?? languageAsked(req.get("Accept-Language"));
        const span = { from: query.from ?? null, to: query.to ?? null, language };
        const id = await jobs.report(caller, params.id, span, newId);
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
    ...FILES.map(({ path, file, says, type, headers }) =>
      endpoint(
        { method: "get", path, right: "see", says, params: z.object({ id: ContentId }), answerType: type },
        async ({ caller, params, req, res }) => {
          const blob = await data.reports.file(caller, params.id, file);
          res.set(headers);
          if (!blob || !(await sendBlob(req, res, data.blobs, blob, type))) {
            throw new RequestError("not-found", "There is no such report, or it is not made yet: look at its job.");
          }
        },
      ),
    ),
  ];
}

/** A moment of a run, to the minute, as clocks at the table show it. */
const Moment = z.string().regex(/^\d{4}-\d{2}-\d{2}T\d{2}:\d{2}$/, "must be like 2031-05-04T06:00");

const FILES = [
  {
    path: "/api/reports/:id",
    file: "page",
    says: "A report's page",
    type: "text/html",
    headers: { "Content-Security-Policy": pagePolicy("data:") },
  },
  {
    path: "/api/reports/:id/report.pdf",
    file: "pdf",
    says: "A report as PDF",
    type: "application/pdf",
    headers: { "Content-Disposition": 'attachment; filename="report.pdf"' },
  },
  {
    path: "/api/reports/:id/data.zip",
    file: "data",
    says: "The data of a report: run, readings, charts and balance as CSV, in a ZIP",
    type: "application/zip",
    headers: { "Content-Disposition": 'attachment; filename="report-data.zip"' },
  },
] as const;
