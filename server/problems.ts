import { STATUS_CODES } from "node:http";
import type { ErrorRequestHandler, RequestHandler } from "express";
import type { Logger } from "pino";
import type { z } from "zod";
import type { Problem } from "../vision/contract/index.ts";
import { MarksError, type Text } from "../vision/index.ts";
import { type FieldFault, fieldFaults, sayFaults } from "./plain-words.ts";
import { ReaderError } from "./reader.ts";
import { isAway, isBadText, isDiskFull } from "./storage/store-faults.ts";

/** A request that cannot be answered as asked; the message says what to do. */
export class RequestError extends Error {
  constructor(
    readonly code: string,
    message: string,
    readonly fields?: readonly FieldFault[],
    /** The message by name, for other languages. */
    readonly said: Text | null = null,
  ) {
    super(message);
  }
}

/** HTTP status of each code; what is not here is our own fault, 500. */
const STATUS: Record<string, number> = {
  "body-wrong": 400,
  "body-not-json": 400,
  "photo-empty": 400,
  "log-in": 401,
  "not-allowed": 403,
  "other-site": 403,
  "not-found": 404,
  ended: 409,
  taken: 409,
  "in-progress": 409,
  stopped: 410,
  changed: 412,
  "photo-too-large": 413,
  "body-too-large": 413,
  "body-type": 415,
  "photo-packed": 415,
  "photo-not-an-image": 415,
  "photo-format": 415,
  "photo-broken": 422,
  "photo-too-small": 422,
  "corners-missing": 422,
  "turn-unsure": 422,
  "corners-count": 422,
  "corners-cross": 422,
  "corners-hand": 422,
  "corners-small": 422,
  "corners-outside": 422,
  "marks-disagree": 422,
  "deck-file": 422,
  "corners-file": 422,
  "taps-file": 422,
  "notes-file": 422,
  "not-alike": 422,
  "marks-file": 422,
  "sheet-wrong": 422,
  "workbook-broken": 422,
  "not-enough": 422,
  "pack-broken": 422,
  "pack-forged": 422,
  "pack-hostile": 422,
  "pack-newer": 422,
  "pack-huge": 413,
  "pack-other-key": 409,
  "key-used": 422,
  "wrong-host": 421,
  "version-missing": 428,
  "too-many": 429,
  busy: 503,
  closed: 503,
  "storage-away": 503,
  "photo-timeout": 504,
  "disk-full": 507,
};

/** A problem document (RFC 9457); its `type` is about:blank because `code` says what is special about it. */
export function problem(code: string, detail: string, fields?: readonly FieldFault[]): Problem {
  const status = STATUS[code] ?? 500;
  const title = STATUS_CODES[status] ?? "Error";
  return { type: "about:blank", title, status, detail, code, ...(fields ? { fields: [...fields] } : {}) };
}

/** Check a body. @throws {RequestError} `body-wrong`, naming each field at fault. */
export function parse<Schema extends z.ZodType>(schema: Schema, body: unknown): z.output<Schema> {
  const checked = schema.safeParse(body);
  if (checked.success) return checked.data;
  const fields = fieldFaults(checked.error);
  throw new RequestError("body-wrong", `What was sent cannot be used. ${sayFaults(fields)}`, fields);
}

export const nothingHere: RequestHandler = (req) => {
  throw new RequestError("not-found", `There is nothing at ${req.path}.`);
};

/** The one place where errors become answers. */
export function answerProblem(log: Logger): ErrorRequestHandler {
  return (error, req, res, next) => {
    if (res.headersSent) return next(error);
    const told = toProblem(error);
    const { method, route } = req; // the route, not the address: links have their secret in it
    if (told.status === 500 || told.code === "storage-away")
      log.error({ err: error, method, route: route?.path }, "an answer failed");
    else log.debug({ code: told.code, method, route: route?.path }, "a request was refused");
    res.status(told.status).type("application/problem+json").send(JSON.stringify(told));
  };
}

/** What an error is for who asked. */
export function toProblem(error: unknown): Problem {
  if (error instanceof RequestError)
    return { ...problem(error.code, error.message, error.fields), ...(error.said && { said: [...error.said] }) };
  if (error instanceof MarksError) return problem(error.code, error.message);
  if (error instanceof ReaderError)
    return { ...problem(error.code, error.message), ...(error.said ? { said: [...error.said] } : {}) };
  if (isDiskFull(error)) {
    return problem(
      "disk-full",
      "The server's disk is full: nothing was kept. Free some room on it, then send this again.",
    );
  }
  if (isAway(error)) {
    return problem(
      "storage-away",
      "What the server keeps things in cannot be reached. Nothing was changed; send this again in a minute.",
    );
  }
  if (isBadText(error)) return problem("body-wrong", "What was sent has a character that no text has (U+0000).");
  const { type, status } = error as { type?: string; status?: number }; // what Express and its body readers throw
  if (type === "entity.too.large")
    return problem("photo-too-large", "What was sent is too large. Send a smaller photo.");
  if (type === "entity.parse.failed") return problem("body-not-json", "What was sent is not valid JSON.");
  if (status === 404) return problem("not-found", "There is nothing at this address.");
  if (status !== undefined && status >= 400 && status < 500)
    return problem("body-wrong", "The request cannot be read.");
  return problem("internal", "The server failed at this. Try again; if it happens again, tell whoever runs it.");
}
