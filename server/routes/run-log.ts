import type { Request } from "express";
import { z } from "zod";
import { entriesOf, runRows, SHEET_COLUMNS, type SheetRead, writeRunSheet } from "../../vision/accounts/index.ts";
import { Id, NewRunLogEntry, RunLog, RunLogEntry, RunRecord, SheetTaken } from "../../vision/contract/index.ts";
import { receiveWhole } from "../body.ts";
import { type Endpoint, endpoint } from "../endpoint.ts";
import { versionIn, versionTag } from "../if-match.ts";
import type { Parts } from "../parts.ts";
import { RequestError } from "../problems.ts";
import { readSheetText, readSheetWorkbook } from "../sheet-bytes.ts";
import type { Caller } from "../storage/caller.ts";
import { askOf, PageQuery } from "../storage/pages.ts";
import { WORKBOOK_TYPE, writeRows } from "../workbook.ts";

const At = z.object({ id: Id });
/** Larger files are no run sheets. */
const MOST_BYTES = 8e6;
/** Wrong rows that are told; the rest is counted. */
const MOST_FAULTS = 100;
const CSV = "text/csv; charset=utf-8";

/** What is written down of a run: settings, changes, samples, notes; one by one, or as a sheet. */
export function runLogRoutes({ data }: Parts): Endpoint[] {
  const take = async (caller: Caller, id: string, req: Request, read: () => Promise<SheetRead>) => {
    const from = versionIn(req, "the sheet that you changed has it as its ETag, a new run is at 0");
    const { run, faults } = await read();
    if (!run) throw sheetWrong(faults);
    const version = await data.runLogs.rewrite(caller, id, from, entriesOf(run));
    return { version, samples: run.samples.length, streams: run.streams.length };
  };
  return [
    endpoint(
      {
        method: "post",
        path: "/api/runs/:id/entries",
        right: "work",
        says: "Write down one thing of a run, or correct or withdraw what was written",
        params: At,
        body: NewRunLogEntry,
        answer: RunLogEntry,
        status: 201,
      },
      ({ caller, params, body, newId }) => data.runLogs.add(caller, params.id, body, newId()),
    ),
    endpoint(
      {
        method: "get",
        path: "/api/runs/:id/entries",
        right: "see",
        says: "All that was ever written down of a run, the latest first",
        params: At,
        query: PageQuery,
        answer: RunLog,
      },
      ({ caller, params, query }) => data.runLogs.list(caller, params.id, askOf(query)),
    ),
    endpoint(
      {
        method: "get",
        path: "/api/runs/:id/record",
        right: "see",
        says: "What counts of a run now, as one document; how often something was written down is its ETag",
        params: At,
        answer: RunRecord,
      },
      async ({ caller, params, res }) => {
        const { record, version } = await data.runLogs.record(caller, params.id);
        res.set("ETag", versionTag(version));
        return record;
      },
    ),
    endpoint(
      {
        method: "get",
        path: "/api/runs/:id/sheet.csv",
        right: "see",
        says: "A run as a sheet, one figure a row, CSV",
        params: At,
        answerType: "text/csv",
      },
      async ({ caller, params, res }) => {
        const { record, version } = await data.runLogs.record(caller, params.id);
        res.set({ ETag: versionTag(version), "Content-Type": CSV, "Content-Disposition": "attachment" });
        res.send(writeRunSheet(record));
      },
    ),
    endpoint(
      {
        method: "get",
        path: "/api/runs/:id/sheet.xlsx",
        right: "see",
        says: "A run as a sheet, one figure a row, as a workbook",
        params: At,
        answerType: WORKBOOK_TYPE,
      },
      async ({ caller, params, res }) => {
        const { record, version } = await data.runLogs.record(caller, params.id);
        const bytes = await writeRows("run", SHEET_COLUMNS, runRows(record));
        res.set({ ETag: versionTag(version), "Content-Type": WORKBOOK_TYPE, "Content-Disposition": "attachment" });
        res.send(Buffer.from(bytes));
      },
    ),
    endpoint(
      {
        method: "put",
        path: "/api/runs/:id/sheet.csv",
        right: "work",
        says: "Have a run say what a sheet says; If-Match names the version it was made from. A wrong row is told by its line, and nothing is kept then",
        params: At,
        bodyType: "text/csv",
        answer: SheetTaken,
      },
      ({ caller, params, req }) =>
        take(caller, params.id, req, async () => readSheetText(await receiveWhole(req, MOST_BYTES))),
    ),
    endpoint(
      {
        method: "put",
        path: "/api/runs/:id/sheet.xlsx",
        right: "work",
        says: "The same from a workbook: its sheet run, or its first",
        params: At,
        bodyType: WORKBOOK_TYPE,
        answer: SheetTaken,
      },
      ({ caller, params, req }) =>
        take(caller, params.id, req, async () => readSheetWorkbook(await receiveWhole(req, MOST_BYTES))),
    ),
  ];
}

function sheetWrong(faults: SheetRead["faults"]): RequestError {
  const told = faults.slice(0, MOST_FAULTS).map(({ line, say }) => ({ field: `line ${line}`, say }));
  const more = faults.length > told.length ? ` ${faults.length - told.length} more are not told.` : "";
  const rows = faults.length === 1 ? "one row is wrong" : `${faults.length} rows are wrong`;
  const message = `Nothing of the sheet was kept, since ${rows}. Correct what is told, then send it again.${more}`;
  const each = faults.slice(0, MOST_FAULTS).map(({ line, said }) => {
    return said && [{ key: "said.sheet.line", values: { line } }, ...said];
  });
  const beyond = faults.length - told.length;
  const said = [
    { key: "said.sheet.nothingKept", values: { count: faults.length } },
    ...each.flatMap((text) => text ?? []),
    ...(beyond > 0 ? [{ key: "said.sheet.more", values: { count: beyond } }] : []),
  ];
  return new RequestError("sheet-wrong", message, told, each.includes(null) ? null : said);
}
