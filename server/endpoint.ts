import express, { type Express, type Request, type RequestHandler, type Response } from "express";
import type { z } from "zod";
import type { Answer, Answers } from "./answers.ts";
import { mayDo, type Right } from "./people/rights.ts";
import { NOT_ALLOWED, STRANGER, type Who } from "./people/who.ts";
import { parse, RequestError } from "./problems.ts";
import { sha256 } from "./sha256.ts";
import type { Caller, Member } from "./storage/caller.ts";
import { idFrom, newId } from "./storage/naming.ts";

/** Most bytes of a JSON body. */
const MOST_JSON = "1mb";
type Schema = z.ZodType;
type Method = "get" | "post" | "put" | "patch" | "delete";

/** One address of the API: what it takes and answers. Routes and the OpenAPI document are both made from it. */
export interface Spec<Params extends Schema, Query extends Schema, Body extends Schema, Answers extends Schema> {
  readonly method: Method;
  /** Such as `/api/decks/:id`. */
  readonly path: string;
  readonly says: string;
  readonly right: Right;
  readonly params?: Params;
  readonly query?: Query;
  readonly body?: Body;
  readonly answer?: Answers;
  /** What it answers instead of JSON: a media type. Its handler then writes the answer itself. */
  readonly answerType?: string;
  /** What it takes instead of JSON. Its handler then reads the request itself. */
  readonly bodyType?: string;
  readonly status?: number;
}

export interface Asked<Params, Query, Body> {
  readonly caller: Member;
  readonly params: Params;
  readonly query: Query;
  readonly body: Body;
  readonly req: Request;
  readonly res: Response;
  /** An id for a row to be made: random, but the same when the same write comes again after a crash. */
  readonly newId: () => string;
}

export interface Endpoint extends Spec<Schema, Schema, Schema, Schema> {
  readonly handle: (asked: Asked<unknown, unknown, unknown>) => unknown;
}

/** An address with what it does; `handle` gets what was checked and gives what is checked again before it is sent. */
export function endpoint<
  Params extends Schema = z.ZodObject,
  Query extends Schema = z.ZodObject,
  Body extends Schema = z.ZodNull,
  Told extends Schema = z.ZodNull,
>(
  spec: Spec<Params, Query, Body, Told>,
  handle: (asked: Asked<z.output<Params>, z.output<Query>, z.output<Body>>) => Promise<z.output<Told>> | Promise<void>,
): Endpoint {
  return { ...spec, handle: handle as Endpoint["handle"] };
}

export interface Manner {
  readonly who: Who;
  /** In whose name is answered what needs no log-in. */
  readonly nobody: Member;
  readonly answers: Answers;
}

/** Let `app` answer at these addresses. */
export function answerAt(app: Express, endpoints: readonly Endpoint[], manner: Manner): void {
  for (const each of endpoints) {
    app[each.method](
      each.path,
      ...(each.body ? [jsonOnly, express.json({ limit: MOST_JSON })] : []),
      answering(each, manner),
    );
  }
}

/** A form on another site can send text, but no JSON, without asking first. */
const jsonOnly: RequestHandler = (req, _res, next) => {
  if (req.is("application/json")) return next();
  throw new RequestError("body-type", "Send JSON, with the header Content-Type: application/json.");
};

function answering(spec: Endpoint, { who, nobody, answers }: Manner): RequestHandler {
  return async (req, res) => {
    const caller = spec.right === "anyone" ? nobody : await who(req);
    if (!caller) throw STRANGER();
    if (!mayDo(caller.role, spec.right)) throw NOT_ALLOWED();
    const params = spec.params ? placeIn(spec.params, req.params) : req.params;
    const query = spec.query ? parse(spec.query, req.query) : {};
    const body = spec.body ? parse(spec.body, req.body) : null;
    const key = spec.method === "get" ? undefined : keyOf(req);
    const handle = () =>
      spec.handle({ caller, params, query, body, req, res, newId: key ? idsOf(caller, key) : newId });
    if (spec.answerType) return void (await handle());
    res.on("finish", () => req.resume()); // whatever was sent and not wanted
    const work = async () => toAnswer(spec, await handle(), res);
    const request = () =>
      [req.method, req.path, sha256(JSON.stringify(body) ?? ""), req.get("Content-Length")].join(" ");
    send(res, key ? await answers.once(caller, key, request(), work) : await work());
  };
}

/** Ids in an address name something or nothing; a malformed one names nothing. */
function placeIn(schema: Schema, params: unknown): unknown {
  const checked = schema.safeParse(params);
  if (checked.success) return checked.data;
  throw new RequestError("not-found", "There is nothing at this address: check the id in it.");
}

function keyOf(req: Request): string | undefined {
  const key = req.get("Idempotency-Key");
  if (key === undefined || /^[\x21-\x7e]{8,200}$/.test(key)) return key;
  throw new RequestError("body-wrong", "An Idempotency-Key has 8 to 200 printable characters and no space.");
}

/** UUIDs that follow from the caller and its key. */
function idsOf({ site, person }: Caller, key: string): () => string {
  let made = 0;
  return () => idFrom(sha256(JSON.stringify([site, person, key, made++])));
}

function toAnswer(spec: Endpoint, value: unknown, res: Response): Answer {
  const headers = Object.fromEntries(
    ["location", "etag"].flatMap((name) => {
      const said = res.getHeader(name);
      return typeof said === "string" ? [[name, said]] : [];
    }),
  );
  if (!spec.answer) return { status: spec.status ?? 204, headers, body: null };
  return { status: spec.status ?? res.statusCode, headers, body: JSON.stringify(spec.answer.parse(value)) };
}

function send(res: Response, { status, headers, body }: Answer): void {
  res.status(status).set(headers);
  if (body === null) res.end();
  else res.type("application/json").send(body);
}
