import { type ChildProcess, spawn } from "node:child_process";
import { once } from "node:events";
import { createInterface } from "node:readline";
import { fileURLToPath } from "node:url";
import sharp from "sharp";
import { sha256 } from "../../server/sha256.ts";
import { type Elsewhere, NOTHING_ELSEWHERE, openData } from "../../server/storage/data.ts";
import { check } from "../../server/storage/database.ts";
import { PhotoReceipt, ReadingReceipt } from "../../vision/contract/index.ts";

const COMMAND = fileURLToPath(new URL("../../server/deckbands.mjs", import.meta.url));
/** Where the deck lies in the photos of `tinyPhoto`, px. */
const CORNERS = {
  corners: [
    [30, 25],
    [370, 25],
    [370, 305],
    [30, 305],
  ] as [number, number][],
};
const DECK = { schemaVersion: 1 as const, lengthMm: 1830, widthMm: 910 };

/** The real server as a process of its own, with all that it starts. */
export class Victim {
  readonly #folder: string;
  readonly #environment: Record<string, string>;
  #process: ChildProcess | null = null;
  at = "";

  constructor(folder: string, environment: Record<string, string> = {}) {
    this.#folder = folder;
    this.#environment = environment;
  }

  async start(): Promise<void> {
    const limits = { DECKBANDS_WRITES_PER_MINUTE: "1000000", DECKBANDS_READS_PER_MINUTE: "1000000" };
    const env = { ...process.env, ...limits, DECKBANDS_DATA: this.#folder, PORT: "0", ...this.#environment };
    // a group of its own, so that the reading processes can be killed with it
    const child = spawn(process.execPath, [COMMAND, "serve"], {
      env,
      detached: true,
      stdio: ["ignore", "pipe", "inherit"],
    });
    this.#process = child;
    const lines = createInterface({ input: child.stdout! });
    for await (const line of lines) {
      const at = /http:\/\/[^/\s]+/.exec(line)?.[0];
      if (!at) continue;
      this.at = at;
      return;
    }
    throw new Error("the server did not start");
  }

  get pid(): number {
    return this.#process!.pid!;
  }

  /** kill -9 of the server, with its reading processes at the same moment or without them. */
  async kill(withProcesses = true): Promise<void> {
    const child = this.#process!;
    const isGone = child.exitCode !== null || child.signalCode !== null; // though what it started may outlive it
    const gone = isGone ? null : once(child, "exit");
    process.kill(withProcesses ? -child.pid! : child.pid!, "SIGKILL");
    await gone;
  }

  /** Ask it to stop, and wait until it has. @returns its exit code. */
  async stop(): Promise<number | null> {
    const child = this.#process!;
    const gone = once(child, "exit");
    child.kill("SIGTERM");
    const [code] = await gone;
    return code;
  }
}

/** A small photo with bands of its own: dark, middle and pale strips whose edges `seed` moves. */
export async function tinyPhoto(seed: number): Promise<Uint8Array> {
  const [width, height] = [400, 330];
  const rgb = new Uint8Array(width * height * 3);
  let state = (seed * 2654435761 + 12345) >>> 0;
  const random = () => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0; // Numerical Recipes, 2nd ed., section 7.1
    return state / 2 ** 32;
  };
  const [first, second] = [80 + random() * 40, 170 + random() * 60];
  for (let y = 0; y < height; y++) {
    for (let x = 0; x < width; x++) {
      const grey = (y < first ? 45 : y < second ? 110 : 190) + random() * 24;
      rgb.set([grey + 8, grey, grey - 8], 3 * (y * width + x));
    }
  }
  return new Uint8Array(
    await sharp(rgb, { raw: { width, height, channels: 3 } })
      .jpeg({ quality: 85 })
      .toBuffer(),
  );
}

/** One phone: sends photos, asks for each to be read, and tries again until the server has said yes to both. */
export async function phone(
  at: () => string,
  photos: AsyncIterable<Uint8Array>,
  acknowledged: Map<string, Uint8Array>,
): Promise<void> {
  for await (const bytes of photos) {
    const { id } = PhotoReceipt.parse(
      await insist(() => fetch(`${at()}/api/photos`, { method: "POST", body: new Uint8Array(bytes) })),
    );
    acknowledged.set(id, bytes);
    const body = JSON.stringify({ photo: id, corners: CORNERS, deck: DECK });
    const headers = { "Content-Type": "application/json" };
    ReadingReceipt.parse(await insist(() => fetch(`${at()}/api/readings`, { method: "POST", body, headers })));
  }
}

async function insist(ask: () => Promise<Response>): Promise<unknown> {
  for (let tries = 0; ; tries++) {
    const answer = await ask().catch(() => null); // the server is being killed
    if (answer?.ok) return answer.json();
    if (answer && answer.status < 500) throw new Error(`${answer.status}: ${await answer.text()}`);
    if (tries > 5000) throw new Error("the server stays away");
    await new Promise((later) => setTimeout(later, 50));
  }
}

/** Looks into what nobody serves any more: is every acknowledged photo there, byte for byte, with one current reading? */
export async function inquest(
  folder: string,
  acknowledged: ReadonlyMap<string, Uint8Array>,
  elsewhere: Elsewhere = NOTHING_ELSEWHERE,
) {
  const data = await openData(folder, elsewhere);
  try {
    await check(data.db);
    let [lost, unread] = [0, 0];
    for (const id of acknowledged.keys()) {
      const bytes = await data.blobs.read(id);
      if (!bytes || sha256(bytes) !== id || !(await data.photos.find(data.local, id))) lost++;
      const current = await data.db.selectFrom("current_readings").selectAll().where("photo", "=", id).execute();
      const readings = await data.db.selectFrom("readings").select("id").where("photo", "=", id).execute();
      if (current.length !== 1 || readings.length !== 1 || current[0]?.reading_id !== readings[0]?.id) unread++;
    }
    return { lost, unread };
  } finally {
    await data.close();
  }
}
