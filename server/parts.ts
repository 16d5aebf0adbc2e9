import type { Logger } from "pino";
import { DeckAlarms } from "./alarms/deck-alarms.ts";
import { type Post, postOverHttps } from "./alarms/post.ts";
import { senderKeyOf } from "./alarms/sender-key.ts";
import { AlarmWatcher } from "./alarms/watcher.ts";
import type { SenderKey } from "./alarms/web-push.ts";
import { Answers } from "./answers.ts";
import type { Limits } from "./guards.ts";
import { Jobs } from "./jobs/jobs.ts";
import { RowQueue } from "./jobs/queue.ts";
import { openLog } from "./log.ts";
import { Metrics } from "./metrics.ts";
import { type Auth, openAuth } from "./people/auth.ts";
import { Members } from "./people/members.ts";
import { byLogIn, ownerAlways, type Who } from "./people/who.ts";
import { Reader } from "./reader.ts";
import { type Data, type Elsewhere, openData } from "./storage/data.ts";
import { sweep } from "./storage/sweep.ts";

/** What a running server is made of. */
export interface Parts {
  readonly data: Data;
  readonly reader: Reader;
  readonly jobs: Jobs;
  readonly answers: Answers;
  readonly metrics: Metrics;
  readonly log: Logger;
  readonly limits: Limits;
  readonly auth: Auth;
  readonly deckAlarms: DeckAlarms;
  /** Tells new alarms. */
  readonly watcher: AlarmWatcher;
  /** What push services know this server by; made when it is first wanted. */
  readonly senderKey: () => Promise<SenderKey>;
  readonly members: Members;
  readonly who: Who;
  /** Whether people log in; else only this computer may ask, and whoever does is the owner. */
  readonly logIn: boolean;
  /** Where people reach the server, where that is known. */
  readonly address: string | null;
  /** Aborts when the server begins to stop. */
  readonly stopping: AbortSignal;
  /** Have this clean-up done now and then. */
  tidied(work: () => Promise<unknown>): void;
  /** Stop taking jobs, give back what is not done after `graceMs`, and close everything. */
  close(graceMs?: number): Promise<void>;
}

export interface Choices {
  /** What is not kept in the data folder. */
  readonly elsewhere?: Elsewhere;
  /** Photos read at the same time; 0: they wait. */
  readonly readers?: number;
  readonly reader?: Reader;
  readonly limits?: Limits;
  readonly logIn?: boolean;
  readonly address?: string | null;
  readonly log?: Logger;
  /** How push services are asked, and how long readings of one deck are waited for, ms. */
  readonly post?: Post;
  readonly alarmsTogetherMs?: number;
}

/** More than a person with a phone ever makes, less than a runaway program does. */
const USUAL_LIMITS: Limits = { reads: 3000, writes: 600 };
/** Between two clean-ups of what has grown old, ms. */
const TIDY_MS = 60 * 60 * 1000;

const queueIn = async (url: string, log: Logger) =>
  (await import("./jobs/database-queue.ts")).DatabaseQueue.open(url, log);

/** Open everything over a data folder, and go on with the jobs that are left there. */
export async function openParts(folder: string, choices: Choices = {}): Promise<Parts> {
  const { readers = 1, limits = USUAL_LIMITS, logIn = false, address = null, log = openLog("error") } = choices;
  const data = await openData(folder, choices.elsewhere);
  const reader = choices.reader ?? new Reader({ readers });
  let key: Promise<SenderKey> | null = null;
  const senderKey = () => {
    key ??= senderKeyOf(data.secrets);
    return key;
  };
  const deckAlarms = new DeckAlarms(data);
  const contact = address?.startsWith("https:") ? address : null;
  const post = choices.post ?? postOverHttps;
  const watcher = new AlarmWatcher(data, deckAlarms, post, senderKey, contact, log, choices.alarmsTogetherMs);
  const database = choices.elsewhere?.database ?? null;
  const queue = database === null ? new RowQueue(log) : await queueIn(database, log);
  const jobs = new Jobs(data, queue, reader, readers, log, (site, id) => watcher.heard(site, id));
  const answers = new Answers(data);
  const auth = openAuth(data.db, data.secrets, address ?? "http://localhost");
  const members = new Members(data.db, auth);
  const stopping = new AbortController();
  const tidies: (() => Promise<unknown>)[] = [() => answers.tidy(), () => sweep(data, stopping.signal)];
  const tidy = async () => {
    for (const work of tidies) await work().catch((error) => log.error({ err: error }, "a clean-up failed"));
  };
  let tidying = tidy();
  const timer = setInterval(() => {
    tidying = tidying.then(tidy);
  }, TIDY_MS);
  timer.unref();
  jobs.start();
  let closed: Promise<void> | null = null;
  const close = async (graceMs: number) => {
    stopping.abort();
    clearInterval(timer);
    await jobs.stop(graceMs);
    await watcher.stop();
    await reader.close();
    await tidying;
    await data.close();
  };
  return {
    data,
    reader,
    jobs,
    answers,
    metrics: new Metrics(jobs, reader),
    log,
    limits,
    auth,
    deckAlarms,
    watcher,
    senderKey,
    members,
    who: logIn ? byLogIn(auth, members) : ownerAlways(data),
    logIn,
    address,
    stopping: stopping.signal,
    tidied: (work) => tidies.push(work),
    close: (graceMs = 0) => {
      closed ??= close(graceMs);
      return closed;
    },
  };
}
