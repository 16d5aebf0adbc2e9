/**
 * What the server bears as many processes on PostgreSQL and a bucket:
 * `npm run bench:scale [-- --only kills|database|objects|throughput|queue|history] [-- --small]`. `--small` takes a tenth of
 * everything. Each part prints its figures beside the aim, and fails where something was lost.
 */
import { mkdirSync, mkdtempSync, readFileSync, rmSync } from "node:fs";
import { availableParallelism, tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { parseArgs } from "node:util";
import { DatabaseQueue } from "../../server/jobs/database-queue.ts";
import { JobRows } from "../../server/jobs/rows.ts";
import { openLog } from "../../server/log.ts";
import { type Elsewhere, openData } from "../../server/storage/data.ts";
import { NewReading } from "../../vision/contract/index.ts";
import { Bucket, KEYS } from "../server/bucket.ts";
import { inquest, phone, tinyPhoto, Victim } from "../server/killing.ts";
import { Cluster, postgresPrograms } from "../server/postgres.ts";
import { askHistory, fillHistory } from "./history.ts";
import { coreSecondsOf, pause, quantile } from "./spent.ts";

const { values } = parseArgs({ options: { only: { type: "string" }, small: { type: "boolean" } } });
const size = (full: number) => (values.small ? Math.ceil(full / 10) : full);
const PARTS = { kills, database, objects, throughput, queue, history };
const SAMPLE = fileURLToPath(new URL("../../sample-images/black-sand.jpg", import.meta.url));
const bin = postgresPrograms();
if (!bin) throw new Error("PostgreSQL is not there: install Debian's package postgresql.");
Object.assign(process.env, KEYS);
const root = mkdtempSync(join(tmpdir(), "deckbands-scale-"));
const [cluster, bucket] = [new Cluster(bin), new Bucket()];
const started: Victim[] = [];

try {
  await Promise.all([cluster.start(), bucket.start()]);
  for (const [name, part] of Object.entries(PARTS)) {
    if (values.only !== undefined && values.only !== name) continue;
    console.log(`${name}, ${availableParallelism()} cores, Node ${process.versions.node}`);
    mkdirSync(join(root, name));
    await part(join(root, name), { database: await cluster.make(name), objects: `${bucket.at}/${name}` });
  }
} finally {
  for (const each of started) await each.kill().catch(() => {}); // gone already when all went well
  await Promise.all([cluster.remove(), bucket.remove()]);
  rmSync(root, { recursive: true, force: true });
}

/** Processes of these roles, started; each reads one photo at a time. */
async function start(folder: string, { database, objects }: Elsewhere, roles: readonly string[]): Promise<Victim[]> {
  const all = roles.map((role, i) => {
    const where = { DECKBANDS_DATABASE: database ?? "", DECKBANDS_OBJECTS: objects ?? "" };
    const quiet = { DECKBANDS_LOG: "silent" }; // what goes wrong is meant to
    return new Victim(join(folder, `${i}`), {
      ...KEYS,
      ...where,
      ...quiet,
      DECKBANDS_ROLE: role,
      DECKBANDS_READERS: "1",
    });
  });
  started.push(...all);
  await Promise.all(all.map((each) => each.start()));
  return all;
}

/** Photos are sent and read while `trouble` lasts; then everything that was acknowledged must be there. */
async function through(
  folder: string,
  elsewhere: Elsewhere,
  trouble: (all: readonly Victim[], acknowledged: ReadonlyMap<string, Uint8Array>) => Promise<string>,
): Promise<void> {
  const all = await start(folder, elsewhere, ["web", "web", "worker", "worker"]);
  const acknowledged = new Map<string, Uint8Array>();
  let going = true;
  async function* photos(first: number) {
    for (let i = first; going; i++) {
      yield tinyPhoto(i);
      await pause(3000);
    }
  }
  const phones = Promise.all([0, 1].map((n) => phone(() => all[n]!.at, photos((n + 1) * 100_000), acknowledged)));
  const told = await trouble(all, acknowledged);
  going = false;
  await phones;
  const left = async () => {
    const states = ["waiting", "working"].map(async (state) => {
      const answer = await fetch(`${all[0]!.at}/api/jobs?state=${state}`);
      return ((await answer.json()) as { items: unknown[] }).items.length;
    });
    return (await Promise.all(states)).reduce((sum, many) => sum + many, 0);
  };
  while ((await left()) > 0) await pause(500);
  await Promise.all(all.map((each) => each.stop()));
  const { lost, unread } = await inquest(join(folder, "after"), acknowledged, elsewhere);
  console.log(
    `  ${told}; ${acknowledged.size} photos acknowledged: ${lost} lost or changed, ${unread} without exactly one current reading (aim: none)`,
  );
  if (lost + unread > 0) process.exitCode = 1;
}

/** kill -9 of one process after the other, at random moments. */
async function kills(folder: string, elsewhere: Elsewhere): Promise<void> {
  const count = size(50);
  await through(folder, elsewhere, async (all) => {
    for (let i = 0; i < count; i++) {
      await pause(Math.random() * 4000);
      const victim = all[Math.floor(Math.random() * all.length)]!;
      await victim.kill();
      await victim.start();
    }
    return `2 web and 2 worker processes, ${count} kills`;
  });
}

/** The database goes as in a power cut, and comes back. */
async function database(folder: string, elsewhere: Elsewhere): Promise<void> {
  await through(folder, elsewhere, async (all, acknowledged) => {
    while (acknowledged.size < 2) await pause(200);
    await cluster.stop("SIGQUIT");
    await pause(3000);
    const answers = await Promise.all(all.slice(0, 2).map(({ at }) => fetch(`${at}/api/photos`)));
    const told = await Promise.all(
      answers.map(async (answer) => `${answer.status} ${((await answer.json()) as { code: string }).code}`),
    );
    await pause(7000);
    await cluster.start();
    const known = acknowledged.size;
    const since = performance.now();
    while (acknowledged.size < known + 2) await pause(50);
    const seconds = ((performance.now() - since) / 1000).toFixed(1);
    return `database away for 10 s, answers then: ${told.join(", ")}; two more photos taken within ${seconds} s of its return`;
  });
}

/** The object storage is slow for half a minute, and fails for another half. */
async function objects(folder: string, elsewhere: Elsewhere): Promise<void> {
  await through(folder, elsewhere, async (_all, acknowledged) => {
    while (acknowledged.size < 2) await pause(200);
    const [before, half] = [acknowledged.size, size(30) * 1000];
    bucket.mood = 2000;
    await pause(half);
    const slow = acknowledged.size - before;
    bucket.mood = "failing";
    await pause(half);
    bucket.mood = "well";
    return `object storage ${half / 1000} s late by 2 s a request (${slow} photos taken), ${half / 1000} s failing`;
  });
}

/** Readings a second with one worker process, and with two; each is given the same work, one after the other and back. */
async function throughput(folder: string, elsewhere: Elsewhere): Promise<void> {
  const count = size(60);
  const json = (kind: string) => JSON.parse(readFileSync(SAMPLE.replace(/\.jpg$/, `.${kind}.json`), "utf8"));
  const notes = { deck: json("deck"), corners: json("corners") };
  let asked = 0;
  const measured = async (workers: number) => {
    const all = await start(join(folder, `${asked}`), elsewhere, ["web", ...Array(workers).fill("worker")]);
    const [web, ...reading] = all;
    const send = await fetch(`${web!.at}/api/photos`, { method: "POST", body: new Uint8Array(readFileSync(SAMPLE)) });
    const { id: photo } = (await send.json()) as { id: string };
    const ask = async () => {
      const body = JSON.stringify({ photo, ...notes, settings: { feedKgPerHour: ++asked } });
      await fetch(`${web!.at}/api/readings`, { method: "POST", body, headers: { "Content-Type": "application/json" } });
    };
    const done = async () => {
      for (;;) {
        const text = await (await fetch(`${web!.at}/metrics`)).text();
        if (text.includes(`deckbands_jobs{state="done"} ${asked}\n`)) return;
        await pause(100);
      }
    };
    for (let i = 0; i < workers; i++) await ask();
    await done(); // warm
    const spentBy = () => reading.reduce((sum, { pid }) => sum + coreSecondsOf(pid), 0);
    const [since, spent] = [performance.now(), spentBy()];
    for (let i = 0; i < count; i++) await ask();
    await done();
    const rate = (count * 1000) / (performance.now() - since);
    const coreSeconds = (spentBy() - spent) / count;
    await Promise.all(all.map((each) => each.stop()));
    return { rate, coreSeconds };
  };
  const rounds = [await measured(1), await measured(2), await measured(2), await measured(1)];
  const mean = (a: number, b: number, what: "rate" | "coreSeconds") => (rounds[a]![what] + rounds[b]![what]) / 2;
  const [one, two] = [mean(0, 3, "rate"), mean(1, 2, "rate")];
  console.log(
    `  ${count} readings a way, twice, a photo of 3 million pixels: one worker ${one.toFixed(2)} a second, two ${two.toFixed(2)}: ${(two / one).toFixed(2)} times (aim: 1.6)`,
  );
  console.log(
    `  core seconds of the workers a reading: ${mean(0, 3, "coreSeconds").toFixed(2)} and ${mean(1, 2, "coreSeconds").toFixed(2)}`,
  );
}

/** What a job costs beside its reading: asked for, handed out, taken, ended; nothing is read. */
async function queue(folder: string, elsewhere: Elsewhere): Promise<void> {
  const count = size(1000);
  const data = await openData(folder, elsewhere);
  const { local } = data;
  const about = {
    name: "a.jpg",
    format: "jpeg",
    bytes: 1,
    width_px: 400,
    height_px: 330,
    taken_at: null,
    run_id: null,
  };
  const photo = "a".repeat(64);
  await data.db
    .insertInto("photos")
    .values({ ...about, site_id: local.site, sha256: photo, preview_sha256: photo, sent_at: new Date().toISOString() })
    .execute();
  const asked = NewReading.parse({ photo });
  const handing = await DatabaseQueue.open(elsewhere.database!, openLog("error"));
  const rows = new JobRows(data.db, handing);
  const times: number[] = [];
  let ended = () => {};
  await handing.start(rows, 1, async ({ id }) => {
    await rows.reach(id, "photo");
    await data.db.transaction().execute((trx) => rows.finish(trx, id));
    ended();
  });
  for (let i = 0; i < count; i++) {
    const end = new Promise<void>((resolve) => {
      ended = resolve;
    });
    const since = performance.now();
    await rows.add(
      i.toString(16).padStart(64, "0"),
      local,
      "reading",
      { asked, deckId: null, deckVersion: null, remadeFrom: null },
      0,
    );
    await end;
    times.push(performance.now() - since);
  }
  await handing.stop();
  await data.close();
  console.log(
    `  ${count} jobs, one after the other, from asked for to ended: median ${quantile(times, 0.5).toFixed(1)}, 95th percentile ${quantile(times, 0.95).toFixed(1)} ms (aim: 5 % of a reading's time)`,
  );
}

/** Pages of a long history. */
async function history(folder: string, elsewhere: Elsewhere): Promise<void> {
  const count = size(1_000_000);
  const data = await openData(folder, elsewhere);
  const [began, before] = [performance.now(), await cluster.bytes()];
  const decks = await fillHistory(data, count);
  const filled = (performance.now() - began) / 1000;
  await data.close();
  const [web] = await start(folder, elsewhere, ["web"]);
  const times = await askHistory(web!.at, decks, count);
  await web!.stop();
  const mb = ((await cluster.bytes()) - before) / 1e6;
  console.log(
    `  ${count} readings of ${decks.length} decks (${filled.toFixed(0)} s to write, ${mb.toFixed(0)} MB); ${times.length} pages of 50: median ${quantile(times, 0.5).toFixed(1)}, 95th percentile ${quantile(times, 0.95).toFixed(1)} ms (aim: 50)`,
  );
}
