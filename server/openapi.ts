import { STATUS_CODES } from "node:http";
import { z } from "zod";
import { createDocument, type ZodOpenApiOperationObject, type ZodOpenApiPathsObject } from "zod-openapi";
import * as contract from "../vision/contract/index.ts";
import type { Endpoint } from "./endpoint.ts";
import { VERSION } from "./version.ts";

/** The API in OpenAPI 3.1, from the very schemas that check what is sent and answered. */
export function describeApi(endpoints: readonly Endpoint[]): object {
  const paths: ZodOpenApiPathsObject = {};
  for (const each of endpoints) {
    const path = each.path.replace(/:(\w+)/g, "{$1}");
    paths[path] = { ...paths[path], [each.method]: operation(each) };
  }
  return createDocument({
    openapi: "3.1.0",
    info: {
      title: "deckbands",
      version: VERSION,
      description:
        "Photos of shaking tables, and what was read in them. Every write may carry an Idempotency-Key; lists go on with " +
        "the cursor they answered. Large photos may be sent in parts to /api/uploads by the tus protocol, version 1.0.0.",
      license: { name: "Apache-2.0", identifier: "Apache-2.0" },
    },
    servers: [{ url: "/" }],
    paths,
    components: { schemas: NAMED, securitySchemes: LOG_IN },
  });
}

/** Asked for only where others than this computer can reach the server. */
const LOG_IN = {
  device: { type: "http", scheme: "bearer", description: "A device's token" },
  session: { type: "apiKey", in: "cookie", name: "deckbands.session_token", description: "A log-in at /log-in" },
} as const;

const NAMED = Object.fromEntries(
  Object.entries(contract).flatMap(([name, schema]) => (schema instanceof z.ZodType ? [[name, schema]] : [])),
);

function operation(each: Endpoint): ZodOpenApiOperationObject {
  const { method, path, says, right, params, query, body, answer, answerType, bodyType } = each;
  const status = String(each.status ?? (answer || answerType ? 200 : 204)) as "200";
  const types = answer ? { "application/json": { schema: answer } } : answerType && { [answerType]: {} };
  const header = z.object({ "Idempotency-Key": z.string().min(8).max(200).optional() });
  return {
    operationId: [method, ...path.split(/[/:.-]+/).slice(2)].join("_"),
    summary: says,
    ...(right !== "anyone" && { description: `For who may ${right}.`, security: [{ device: [] }, { session: [] }] }),
    requestParams: {
      ...(params && { path: params as z.ZodObject }),
      ...(query && { query: query as z.ZodObject }),
      ...(method !== "get" && { header }),
    },
    ...(body && { requestBody: { required: true, content: { "application/json": { schema: body } } } }),
    ...(bodyType && { requestBody: { required: true, content: { [bodyType]: {} } } }),
    responses: {
      [status]: { description: STATUS_CODES[status] ?? "Done", ...(types && { content: types }) },
      default: {
        description: "What failed, and what to do",
        content: { "application/problem+json": { schema: contract.Problem } },
      },
    },
  };
}
