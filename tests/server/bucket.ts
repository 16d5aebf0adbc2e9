import crypto from "node:crypto";
import { mkdtempSync, rmSync } from "node:fs";
import { createServer } from "node:http";
import type { AddressInfo } from "node:net";
import { tmpdir } from "node:os";
import { join } from "node:path";
import S3rver from "s3rver";

/** Who asks; s3rver does not check signatures of version 4, but wants them. */
export const KEYS = { AWS_ACCESS_KEY_ID: "S3RVER", AWS_SECRET_ACCESS_KEY: "S3RVER" };

/** s3rver writes where a list goes on in DES, which OpenSSL 3 has only as triple DES: with one key three times, that is DES. */
for (const name of ["createCipheriv", "createDecipheriv"] as const) {
  const known = crypto[name] as (cipher: string, key: Buffer, iv: Buffer) => unknown;
  const withDes = (cipher: string, key: Buffer, iv: Buffer) =>
    cipher === "des" ? known("des-ede3-cbc", Buffer.concat([key, key, key]), iv) : known(cipher, key, iv);
  Object.assign(crypto, { [name]: withDes });
}

/** Object storage of one's own: s3rver over a temporary folder, on a free port of this computer. */
export class Bucket {
  readonly #folder = mkdtempSync(join(tmpdir(), "deckbands-s3-"));
  /** How it behaves: as it should, refusing everything, or late by so many ms. */
  mood: "well" | "failing" | number = "well";
  #server: ReturnType<typeof createServer> | null = null;
  #port = 0;

  /** The bucket's address. */
  get at(): string {
    return `http://127.0.0.1:${this.#port}/photos`;
  }

  async start(): Promise<void> {
    const store = new S3rver({ directory: this.#folder, silent: true, configureBuckets: [{ name: "photos" }] });
    await store.configureBuckets();
    const answer = store.callback();
    this.#server = createServer((req, res) => {
      if (this.mood === "failing") res.writeHead(503).end();
      else if (this.mood === "well") answer(req, res);
      else setTimeout(() => answer(req, res), this.mood);
    });
    await new Promise<void>((listening) => this.#server?.listen(this.#port, "127.0.0.1", listening));
    this.#port = (this.#server.address() as AddressInfo).port;
  }

  /** Cut every line; what was kept stays. */
  async stop(): Promise<void> {
    const server = this.#server;
    this.#server = null;
    if (server) await new Promise((closed) => server.close(closed).closeAllConnections());
  }

  async remove(): Promise<void> {
    await this.stop();
    rmSync(this.#folder, { recursive: true, force: true });
  }
}
