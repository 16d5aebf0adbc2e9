import { mkdtempSync } from "node:fs";
import { readFile, rm } from "node:fs/promises";
import { createServer } from "node:http";
import { isIP } from "node:net";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { createApp, createHealthApp } from "./app.ts";
import { type Config, readConfig } from "./config.ts";
import { openLog } from "./log.ts";
import { openParts } from "./parts.ts";
import { Reader } from "./reader.ts";
import { listSamples } from "./samples.ts";
import { UsageError } from "./usage.ts";
import { sayReading } from "./words.ts";

const FOLDERS = {
  page: fileURLToPath(new URL("../web/dist/", import.meta.url)),
  samples: fileURLToPath(new URL("../sample-images/", import.meta.url)),
};
/** How long requests under way, and then readings, may take to end when the server is told to stop, ms. */
const REQUESTS_MS = 2000;
const GRACE_MS = 8000;
/** Where the folder may be another process's too, what comes in is left alone until it is as old as this, ms. */
const OTHERS_MS = 24 * 60 * 60 * 1000;

/** Serve the page until the process is told to stop; then end what is under way, and give back what is not done. */
export async function serve(given?: Reader): Promise<void> {
  const config = readConfig(process.env);
  const { role, readers, limits, logLevel, address, elsewhere } = config;
  const logIn = address !== null || !isOwn(config.host);
  const reader = given ?? new Reader({ readers: Math.max(1, readers) }); // one makes decks to teach from
  const folder = config.dataFolder ?? mkdtempSync(join(tmpdir(), "deckbands-"));
  try {
    const parts = await openParts(folder, {
      elsewhere,
      readers,
      reader,
      limits,
      logIn,
      address,
      log: openLog(logLevel),
    });
    try {
      await parts.data.blobs.clearIncoming(elsewhere.database === null ? 0 : OTHERS_MS);
      const server = createServer(role === "worker" ? createHealthApp(parts) : createApp(parts, FOLDERS));
      const at = await listen(server, config);
      if (readers > 0) reader.warm();
      const told = role === "worker" ? `Reading photos. How it fares: ${at}healthz` : `Open ${at} in a browser`;
      process.stdout.write(`${told}. Stop with Ctrl+C.\n`);
      if (role !== "worker" && logIn && !(await parts.members.isAnyone())) {
        const { token } = await parts.members.invite(parts.data.local, "owner", 1);
        const link = new URL(`/join/${token}`, address ?? at).href;
        process.stdout.write(`Nobody can log in yet. To be its owner, open ${link} within a day.\n`);
      }
      await stopAsked();
      await stopListening(server);
      await parts.close(GRACE_MS);
    } finally {
      await parts.close();
    }
  } finally {
    await reader.close();
    if (config.dataFolder === null) await rm(folder, { recursive: true, force: true });
  }
}

/** Whether `host` is this computer's own address, which nobody else can reach. */
const isOwn = (host: string) => host === "localhost" || host === "::1" || (isIP(host) === 4 && host.startsWith("127."));

/** Read one sample photo, say what it shows, then serve the page. */
export async function demo(): Promise<void> {
  const { readers } = readConfig(process.env); // say what is wrong with it before the wait
  const reader = new Reader({ readers: Math.max(1, readers) });
  const sample = (await listSamples(FOLDERS.samples)).find(({ corners }) => corners !== null);
  if (sample) {
    const name = sample.photoUrl.replace("/samples/", "");
    const bytes = await readFile(join(FOLDERS.samples, name));
    const { deck, corners } = sample;
    const outcome = await reader.read({ bytes, name, deck, corners, notes: {}, pictures: false });
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

/** Take no more requests, let those under way end, and hang up on whoever still listens to events. */
async function stopListening(server: ReturnType<typeof createServer>): Promise<void> {
  const closed = new Promise((done) => server.close(done));
  server.closeIdleConnections();
  const late = setTimeout(() => server.closeAllConnections(), REQUESTS_MS);
  await closed;
  clearTimeout(late);
}

const stopAsked = () =>
  new Promise<void>((resolve) => {
    for (const signal of ["SIGINT", "SIGTERM"] as const) process.once(signal, () => resolve());
  });
