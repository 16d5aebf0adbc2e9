/**
 * What the server bears: `npm run bench:server [-- --only uploads|readings|kills|hostile|history] [-- --small]`.
 * `--small` takes a tenth of everything. Each part prints its figures beside the aim, and fails where something was lost.
 */
import { execFile } from "node:child_process";
import { mkdirSync, mkdtempSync, readFileSync, rmSync, statSync } from "node:fs";
import { readFile } from "node:fs/promises";
import { availableParallelism, tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { parseArgs, promisify } from "node:util";
import sharp from "sharp";
import { endpointsOf } from "../../server/app.ts";
import { openParts } from "../../server/parts.ts";
import { sha256 } from "../../server/sha256.ts";
import { openData } from "../../server/storage/data.ts";
import { check } from "../../server/storage/database.ts";
import { inquest, phone, tinyPhoto, Victim } from "../server/killing.ts";
import { oddPhoto, oddRequest, randomFrom, seedPhotos } from "../server/malformed.ts";
import { askHistory, fillHistory } from "./history.ts";
import { coreSecondsOf, pause, quantile } from "./spent.ts";

const { values } = parseArgs({ options: { only: { type: "string" }, small: { type: "boolean" } } });
const size = (full: number) => (values.small ? Math.ceil(full / 10) : full);
const PARTS = { uploads, readings, kills, hostile, history };
const SAMPLE = fileURLToPath(new URL("../../sample-images/black-sand.jpg", import.meta.url));
const root = mkdtempSync(join(tmpdir(), "deckbands-bench-"));

try {
  for (const [name, part] of Object.entries(PARTS)) {
    if (values.only !== undefined && values.only !== name) continue;
    console.log(`${name}, ${availableParallelism()} cores, Node ${process.versions.node}`);
    mkdirSync(join(root, name));
    await part(join(root, name));
  }
} finally {
  rmSync(root, { recursive: true, force: true });
}

/** Many phones at once, reading paused. */
async function uploads(folder: string): Promise<void> {
  const [count, phones] = [size(10_000), 50];
  const base = await smallJpeg();
  const victim = new Victim(folder, { DECKBANDS_READERS: "0" });
  await victim.start();
  const sent = new Set<string>();
  let [next, refused, at1000] = [0, 0, 0];
  const times: number[] = [];
  const start = performance.now();
  const one = async () => {
    while (next < count) {
      const bytes = numbered(base, next++);
      const began = performance.now();
      const answer = await fetch(`${victim.at}/api/photos`, { method: "POST", body: bytes });
      times.push(performance.now() - began);
      if (answer.status === 201) sent.add(((await answer.json()) as { id: string }).id);
      else refused++;
      if (sent.size === Math.ceil(count / 10)) at1000 ||= memoryMb(victim.pid);
    }
  };
  await Promise.all(Array.from({ length: phones }, one));
  const seconds = (performance.now() - start) / 1000;
  const atEnd = memoryMb(victim.pid);
  await victim.stop();
  const data = await openData(folder);
  let lost = 0;
  for (const id of sent) if (sha256((await data.blobs.read(id)) ?? "") !== id) lost++;
  const rows = await data.db
    .selectFrom("photos")
    .select(({ fn }) => fn.countAll<number>().as("count"))
    .executeTakeFirstOrThrow();
  await check(data.db);
  await data.close();
  const doubled = Number(rows.count) - sent.size;
  console.log(
    `  ${count} photos of ${(base.length / 1000).toFixed(0)} kB by ${phones} phones in ${seconds.toFixed(0)} s, ${(count / seconds).toFixed(0)} a second (aim: 10,000 in 600 s)`,
  );
  console.log(
    `  answered within ${quantile(times, 0.5).toFixed(0)} ms in the median, ${quantile(times, 0.95).toFixed(0)} at the 95th percentile`,
  );
  console.log(`  refused ${refused}, lost ${lost}, doubled ${doubled} (aim: none)`);
  console.log(
    `  memory of server and processes ${at1000.toFixed(0)} MB after a tenth, ${atEnd.toFixed(0)} MB at the end: ${(atEnd / at1000).toFixed(2)} times (aim: 1.2)`,
  );
  if (refused + lost + Math.abs(doubled) > 0) process.exitCode = 1;
}

/** Real readings through the queue, beside the vision code alone on as many cores. */
async function readings(folder: string): Promise<void> {
  const count = size(600);
  // a rate to compare with needs fewer
  const few = count / 4;
  const alone = async (processes: number) => {
    const program = fileURLToPath(new URL("bare-reading.ts", import.meta.url));
    const each = Math.ceil(few / processes);
    const args = ["--import", "tsx", program, SAMPLE, String(each)];
    const all = await Promise.all(Array.from({ length: processes }, () => promisify(execFile)(process.execPath, args)));
    const spans = all.map(({ stdout }) => stdout.split(" ").map(Number) as [number, number, number]);
    const ms = Math.max(...spans.map(([, end]) => end)) - Math.min(...spans.map(([start]) => start));
    const coreSeconds = spans.reduce((sum, [, , seconds]) => sum + seconds, 0) / (each * processes);
    return { rate: (each * processes * 1000) / ms, coreSeconds };
  };
  const json = (kind: string) => JSON.parse(readFileSync(SAMPLE.replace(/\.jpg$/, `.${kind}.json`), "utf8"));
  const notes = { deck: json("deck"), corners: json("corners") };
  const served = async (workers: number, count: number) => {
    const victim = new Victim(join(folder, `with ${workers}`), { DECKBANDS_READERS: String(workers) });
    await victim.start();
    const bytes = await readFile(SAMPLE);
    const { id: photo } = (await (
      await fetch(`${victim.at}/api/photos`, { method: "POST", body: new Uint8Array(bytes) })
    ).json()) as { id: string };
    const ask = async (settings: object) => {
      const body = JSON.stringify({ photo, ...notes, settings });
      await fetch(`${victim.at}/api/readings`, {
        method: "POST",
        body,
        headers: { "Content-Type": "application/json" },
      });
    };
    const done = async (most: number) => {
      for (;;) {
        const text = await (await fetch(`${victim.at}/metrics`)).text();
        const jobs = (state: string) =>
          Number(new RegExp(`deckbands_jobs\\{state="${state}"\\} (\\d+)`).exec(text)?.[1]);
        if (jobs("done") >= most) return;
        if (jobs("given-up") > 0) throw new Error("a reading was given up");
        await new Promise((later) => setTimeout(later, 100));
      }
    };
    for (let i = 0; i < workers; i++) await ask({ feedKgPerHour: 1000 + i });
    await done(workers); // warm
    const [start, spent] = [performance.now(), coreSecondsOf(victim.pid)];
    for (let i = 0; i < count; i++) await ask({ feedKgPerHour: i });
    await done(workers + count);
    const rate = count / ((performance.now() - start) / 1000);
    const coreSeconds = (coreSecondsOf(victim.pid) - spent) / count;
    await victim.stop();
    return { rate, coreSeconds };
  };
  const one = await served(1, few);
  const [before, two, after] = [await alone(2), await served(2, count), await alone(2)]; // the machine may change meanwhile
  const bare = (before.rate + after.rate) / 2;
  const bareSeconds = (before.coreSeconds + after.coreSeconds) / 2;
  console.log(
    `  ${count} readings by the server with two processes, ${few} each other way, of a photo of 3 million pixels; readings a second:`,
  );
  console.log(
    `  vision alone in two processes ${before.rate.toFixed(2)} and ${after.rate.toFixed(2)}; the server with two ${two.rate.toFixed(2)}: ${((100 * two.rate) / bare).toFixed(0)} % (aim: 85)`,
  );
  console.log(
    `  core seconds a reading, which other programs disturb less: alone ${bareSeconds.toFixed(2)}, the server ${two.coreSeconds.toFixed(2)}: ${((100 * bareSeconds) / two.coreSeconds).toFixed(0)} %`,
  );
  console.log(
    `  the server with one ${one.rate.toFixed(2)}: two are ${(two.rate / one.rate).toFixed(2)} times one (aim: 1.6)`,
  );
}

/** kill -9 at random moments, of everything or of the server alone, while photos come in and are read. */
async function kills(folder: string): Promise<void> {
  const count = size(50);
  const victim = new Victim(folder, { DECKBANDS_READERS: "1" });
  await victim.start();
  const acknowledged = new Map<string, Uint8Array>();
  let killing = true;
  async function* photos(first: number) {
    for (let i = first; killing; i++) {
      yield tinyPhoto(i);
      await pause(1500);
    }
  }
  const phones = Promise.all([1, 2, 3].map((n) => phone(() => victim.at, photos(n * 100_000), acknowledged)));
  for (let i = 0; i < count; i++) {
    const known = acknowledged.size;
    for (let waited = 0; acknowledged.size === known && waited < 100; waited++) await pause(200); // it must have begun
    await pause(Math.random() * 3000);
    await victim.kill(i % 2 === 0);
    await victim.start();
  }
  killing = false;
  await phones;
  const unfinished = async () => {
    const states = await Promise.all(
      ["waiting", "working"].map(
        async (state) => ((await (await fetch(`${victim.at}/api/jobs?state=${state}`)).json()) as { items: [] }).items,
      ),
    );
    return states.flat().length;
  };
  while ((await unfinished()) > 0) await new Promise((later) => setTimeout(later, 500));
  await victim.stop();
  const { lost, unread } = await inquest(folder, acknowledged);
  console.log(
    `  ${count} kills, ${acknowledged.size} photos acknowledged: ${lost} lost or changed, ${unread} without exactly one current reading (aim: none)`,
  );
  if (lost + unread > 0) process.exitCode = 1;
}

/** Requests and photos as nobody should send them. */
async function hostile(folder: string): Promise<void> {
  const victim = new Victim(folder);
  await victim.start();
  const list = mkdtempSync(join(root, "list-"));
  const parts = await openParts(list, { readers: 0 });
  const endpoints = endpointsOf(parts, { page: "", samples: "" });
  await parts.close();
  const random = randomFrom(2031);
  const seeds = await seedPhotos();
  let bad = 0;
  const ask = async (path: string, init: RequestInit) => {
    const answer = await fetch(victim.at + path, init);
    await answer.arrayBuffer();
    if (answer.status === 500) bad++;
  };
  const round = async () => {
    for (let i = 0; i < size(500); i++) {
      const { path, ...init } = oddRequest(random, endpoints);
      await ask(path, init);
    }
    for (let i = 0; i < size(300); i++) {
      await ask("/api/photos", { method: "POST", body: new Uint8Array(oddPhoto(random, seeds)) });
    }
  };
  const memories: number[] = [];
  for (let rounds = 0; rounds < 4; rounds++) {
    await round();
    memories.push(memoryMb(victim.pid));
  }
  const ready = (await fetch(`${victim.at}/readyz`)).status === 200;
  await victim.stop();
  console.log(
    `  4 rounds of ${size(500)} requests and ${size(300)} photos: ${bad} answers 500 (aim: none), ready afterwards: ${ready}`,
  );
  console.log(`  memory after each round ${memories.map((mb) => mb.toFixed(0)).join(", ")} MB`);
  if (bad > 0 || !ready) process.exitCode = 1;
}

/** A long history: pages of one deck's readings, the first ones and those far back. */
async function history(folder: string): Promise<void> {
  const count = size(1_000_000);
  const data = await openData(folder);
  const start = performance.now();
  const decks = await fillHistory(data, count);
  const filled = (performance.now() - start) / 1000;
  await data.close();
  const victim = new Victim(folder, { DECKBANDS_READERS: "0" });
  await victim.start();
  const times = await askHistory(victim.at, decks, count);
  const disk = statSync(join(folder, "deckbands.sqlite")).size / 2 ** 20;
  await victim.stop();
  console.log(
    `  ${count} readings of ${decks.length} decks (${filled.toFixed(0)} s to write, ${disk.toFixed(0)} MB); ${times.length} pages of 50: median ${quantile(times, 0.5).toFixed(1)}, 95th percentile ${quantile(times, 0.95).toFixed(1)} ms (aim: 50)`,
  );
}

async function smallJpeg(): Promise<Buffer> {
  return sharp(SAMPLE).resize(800, 600, { fit: "fill" }).jpeg({ quality: 82 }).toBuffer();
}

/** The same picture as another file: a comment segment after the start (ITU-T T.81, section B.2.4.5). */
function numbered(jpeg: Buffer, number: number): Uint8Array<ArrayBuffer> {
  const text = Buffer.from(`photo ${number}`);
  const segment = Buffer.from([0xff, 0xfe, 0, text.length + 2, ...text]);
  return new Uint8Array(Buffer.concat([jpeg.subarray(0, 2), segment, jpeg.subarray(2)]));
}

/** Resident memory of a process and those it started, MB; Linux. */
function memoryMb(pid: number): number {
  const own = /VmRSS:\s+(\d+)/.exec(readFileSync(`/proc/${pid}/status`, "utf8"))?.[1];
  const children = readFileSync(`/proc/${pid}/task/${pid}/children`, "utf8").trim().split(" ").filter(Boolean);
  return Number(own ?? 0) / 1024 + children.reduce((sum, child) => sum + memoryMb(Number(child)), 0);
}
