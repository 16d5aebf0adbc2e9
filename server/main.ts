import { mkdtempSync } from "node:fs";
import { readFile, rm } from "node:fs/promises";
import { createServer } from "node:http";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { createApp } from "./app.ts";
import { type Config, readConfig } from "./config.ts";
import { Jobs } from "./jobs.ts";
import { Reader } from "./reader.ts";
import { listSamples } from "./samples.ts";
import { Store } from "./store.ts";
import { UsageError } from "./usage.ts";
import { sayReading } from "./words.ts";

const SAMPLES = fileURLToPath(new URL("../sample-images/", import.meta.url));
const PAGE = fileURLToPath(new URL("../web/dist/", import.meta.url));

/** Serve the page until the process is told to stop; then say goodbye to the thread and the temporary folder. */
export async function serve(reader = new Reader()): Promise<void> {
  const config = readConfig(process.env);
  reader.warm();
  const folder = config.dataFolder ?? mkdtempSync(join(tmpdir(), "deckbands-"));
  try {
    const store = await Store.open(folder);
    const parts = { store, reader, jobs: new Jobs(reader, store), pageFolder: PAGE, samplesFolder: SAMPLES };
    const server = createServer(createApp(parts));
    process.stdout.write(`Open ${await listen(server, config)} in a browser. Stop with Ctrl+C.\n`);
    await stopAsked();
    server.close();
    server.closeAllConnections();
  } finally {
    await reader.close();
    if (config.dataFolder === null) await rm(folder, { recursive: true, force: true });
  }
}

/** Read one sample photo, say what it shows, then serve the page. */
export async function demo(): Promise<void> {
  readConfig(process.env); // say what is wrong with it before the wait
  const reader = new Reader();
  const sample = (await listSamples(SAMPLES)).find(({ corners }) => corners !== null);
  if (sample) {
    const bytes = await readFile(join(SAMPLES, sample.photoUrl.replace("/samples/", "")));
    const { deck, corners } = sample;
    const outcome = await reader.read({
      bytes,
      name: sample.photoUrl.replace("/samples/", ""),
      deck,
      corners,
      notes: {},
      pictures: false,
    });
    process.stdout.write(`A sample photo, made for trying: ${sample.title}\n\n${sayReading(outcome.reading)}\n`);
  }
  await serve(reader);
}

/** @returns the address people open. @throws {UsageError} when the port or the host cannot be had. */
function listen(server: ReturnType<typeof createServer>, { port, host }: Config): Promise<string> {
  return new Promise((resolve, reject) => {
    server.once("error", (error: NodeJS.ErrnoException) => {
      const why: Record<string, string> = {
        EADDRINUSE: `Port ${port} is in use. Set PORT to another, or to 0 for any that is free.`,
        EACCES: `Port ${port} may not be used. Set PORT to one above 1023.`,
        EADDRNOTAVAIL: `HOST ${host} is not an address of this computer.`,
        ENOTFOUND: `HOST ${host} is not an address of this computer.`,
      };
      reject(new UsageError(why[error.code ?? ""] ?? `The server cannot listen: ${error.message}.`));
    });
    server.listen(port, host, () => {
      const at = server.address();
      const bound = typeof at === "object" && at ? at.port : port;
      const shown = host === "0.0.0.0" || host === "::" ? "localhost" : host.includes(":") ? `[${host}]` : host;
      resolve(`http://${shown}:${bound}/`);
    });
  });
}

const stopAsked = () =>
  new Promise<void>((resolve) => {
    for (const signal of ["SIGINT", "SIGTERM"] as const) process.once(signal, () => resolve());
  });
