import { Upload } from "tus-js-client";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { Reader } from "../../server/reader.ts";
import { sha256 } from "../../server/sha256.ts";
import { StoredPhoto } from "../../vision/contract/index.ts";
import { MOODY, photoNo, type Serving, serving } from "./serving.ts";

let app: Serving;
beforeAll(async () => {
  app = await serving({ reader: new Reader({ entry: MOODY }) });
});
afterAll(() => app.close());

describe("a photo sent in parts, by the tus protocol", () => {
  const upload = (bytes: Uint8Array, options: object) =>
    new Promise<Headers>((resolve, reject) => {
      let last = new Headers();
      const one: Upload = new Upload(Buffer.from(bytes), {
        endpoint: `${app.at}/api/uploads`,
        chunkSize: 500,
        retryDelays: [],
        metadata: { filename: "in%20parts.png" },
        onAfterResponse: (_req, res) => {
          last = new Headers({ "Photo-Location": res.getHeader("Photo-Location") ?? "" });
        },
        onSuccess: () => resolve(last),
        onError: reject,
        ...options,
      });
      one.start();
    });

  it("is kept like any other", async () => {
    const bytes = await photoNo(31);
    expect(bytes.length).toBeGreaterThan(1000);
    const headers = await upload(bytes, {});
    expect(headers.get("Photo-Location")).toBe(`/api/photos/${sha256(bytes)}`);
    const kept = StoredPhoto.parse(await (await app.get(`/api/photos/${sha256(bytes)}`)).json());
    expect(kept).toMatchObject({ name: "in parts.png", bytes: bytes.length });
  });

  it("goes on where the line broke", async () => {
    const bytes = await photoNo(32);
    const headers = { "Tus-Resumable": "1.0.0" }; // tus 1.0.0, section Creation
    const made = await fetch(`${app.at}/api/uploads`, {
      method: "POST",
      headers: { ...headers, "Upload-Length": `${bytes.length}` },
    });
    const at = app.at + made.headers.get("Location");
    const patch = (from: number, to: number) =>
      fetch(at, {
        method: "PATCH",
        headers: { ...headers, "Upload-Offset": `${from}`, "Content-Type": "application/offset+octet-stream" },
        body: new Uint8Array(bytes.slice(from, to)),
      });
    expect((await patch(0, 700)).status).toBe(204);
    expect((await patch(0, 700)).status).toBe(409); // not from where it stands
    const head = await fetch(at, { method: "HEAD", headers });
    expect(head.headers.get("Upload-Offset")).toBe("700");
    expect((await fetch(at)).status).toBe(404);
    const last = await patch(700, bytes.length);
    expect(last.headers.get("Photo-Location")).toBe(`/api/photos/${sha256(bytes)}`);
    expect((await fetch(at, { method: "HEAD", headers })).status).toBe(404);
  });

  it.each(["/api/uploads/..%2fdeckbands.sqlite", `/api/uploads/${"0".repeat(32)}`])("%s: not found", async (path) => {
    const answer = await fetch(app.at + path, { method: "HEAD", headers: { "Tus-Resumable": "1.0.0" } });
    expect(answer.status).toBe(404);
  });

  it("is refused when it would be too large", async () => {
    const headers = { "Tus-Resumable": "1.0.0", "Upload-Length": "60000001" };
    expect((await fetch(`${app.at}/api/uploads`, { method: "POST", headers })).status).toBe(413);
  });
});
