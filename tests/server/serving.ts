import { mkdtempSync } from "node:fs";
import { rm } from "node:fs/promises";
import { createServer } from "node:http";
import type { AddressInfo } from "node:net";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import sharp from "sharp";
import { expect } from "vitest";
import { createApp } from "../../server/app.ts";
import { openLog } from "../../server/log.ts";
import { type Choices, openParts, type Parts } from "../../server/parts.ts";
import { Problem } from "../../vision/contract/index.ts";
import { elsewhereOf, forget } from "./keeping.ts";

export const SAMPLES = fileURLToPath(new URL("../../sample-images/", import.meta.url));
/** A reading process that does what photos' names say. */
export const MOODY = new URL("moody-process.mjs", import.meta.url);

/** The server over a folder of its own, answering on a free port. */
export interface Serving {
  readonly parts: Parts;
  readonly at: string;
  readonly folder: string;
  get(path: string, headers?: Record<string, string>): Promise<Response>;
  /** Any method, with a JSON body. */
  ask(method: string, path: string, body?: unknown, headers?: Record<string, string>): Promise<Response>;
  send(bytes: Uint8Array | string, headers?: Record<string, string>): Promise<Response>;
  close(): Promise<void>;
}

export async function serving(
  { port = 0, ...choices }: Choices & { port?: number } = {},
  folder = mkdtempSync(join(tmpdir(), "deckbands-test-")),
): Promise<Serving> {
  const elsewhere = await elsewhereOf(folder);
  const parts = await openParts(folder, { log: openLog("silent"), elsewhere, ...choices });
  const server = createServer(createApp(parts, { page: join(folder, "page"), samples: SAMPLES }));
  await new Promise<void>((listening) => server.listen(port, "127.0.0.1", listening));
  const at = `http://127.0.0.1:${(server.address() as AddressInfo).port}`;
  return {
    parts,
    at,
    folder,
    get: (path, headers = {}) => fetch(at + path, { headers }),
    ask: (method, path, body, headers = {}) =>
      fetch(at + path, {
        method,
        headers: { ...(body !== undefined && { "Content-Type": "application/json" }), ...headers },
        ...(body !== undefined && { body: JSON.stringify(body) }),
      }),
    send: (bytes, headers = {}) =>
      fetch(`${at}/api/photos`, {
        method: "POST",
        body: typeof bytes === "string" ? bytes : new Uint8Array(bytes),
        headers,
      }),
    close: async () => {
      await new Promise((closed) => server.close(closed).closeAllConnections());
      await parts.close();
      await forget(folder);
      await rm(folder, { recursive: true, force: true });
    },
  };
}

/** @returns the problem, after a look that it is one (RFC 9457, section 3) and tells nothing of our insides. */
export async function problemOf(answer: Response, status: number, code: string): Promise<Problem> {
  expect({ status: answer.status, type: answer.headers.get("Content-Type")?.split(";")[0] }).toEqual({
    status,
    type: "application/problem+json",
  });
  const told = Problem.parse(await answer.json());
  expect(told).toMatchObject({ status, code, type: "about:blank" });
  expect(told.detail).toMatch(/^[A-Z].*[.)]$/);
  expect(told.detail).not.toMatch(/Error:|node_modules|\bat \S+:\d/);
  return told;
}

/** An invented photo of plain colour, different for each number. */
export const photoNo = async (number: number): Promise<Uint8Array> => {
  const channel = (shift: number) => (number >> shift) & 255;
  const background = { r: channel(16), g: channel(8), b: channel(0) };
  const png = await sharp({ create: { width: 400, height: 330, channels: 3, background } })
    .png()
    .toBuffer();
  return new Uint8Array(png);
};

/** Waits until `look` answers something true. */
export async function until<T>(look: () => Promise<T | null | false | undefined>, seconds = 20): Promise<T> {
  const end = Date.now() + seconds * 1000;
  for (;;) {
    const seen = await look();
    if (seen) return seen;
    if (Date.now() > end) throw new Error(`nothing came of it in ${seconds} s`);
    await new Promise((later) => setTimeout(later, 50));
  }
}
