import { type ChildProcess, execFile, execFileSync, spawn } from "node:child_process";
import { once } from "node:events";
import { chownSync, existsSync, mkdirSync, mkdtempSync, readdirSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { promisify } from "node:util";
import pg from "pg";

/** Where Debian's packages put the programs, a folder a version. */
const PACKAGED = "/usr/lib/postgresql";

/** The folder of PostgreSQL's programs, the newest ones; null where there are none. POSTGRES_BIN names another one. */
export function postgresPrograms(): string | null {
  const packaged = existsSync(PACKAGED) ? readdirSync(PACKAGED).sort((a, b) => Number(b) - Number(a)) : [];
  const known = [process.env.POSTGRES_BIN ?? [], packaged.map((version) => join(PACKAGED, version, "bin"))].flat();
  return known.find((bin) => existsSync(join(bin, "postgres"))) ?? null;
}

/** A database server of one's own, in a temporary folder, answering on a socket there and nowhere else. */
export class Cluster {
  readonly #bin: string;
  readonly #folder = mkdtempSync(join(tmpdir(), "deckbands-pg-"));
  /** It refuses to run as root: then it runs as whom Debian's package made for it. */
  readonly #user = process.getuid?.() === 0 ? { uid: idOf("-u"), gid: idOf("-g") } : {};
  readonly #settings: readonly string[];
  #process: ChildProcess | null = null;

  /** @param settings  Such as `fsync=off`, where nothing needs to survive. */
  constructor(bin: string, settings: readonly string[] = []) {
    this.#bin = bin;
    this.#settings = settings;
    mkdirSync(this.#data);
    if (this.#user.uid !== undefined)
      for (const each of [this.#folder, this.#data]) chownSync(each, this.#user.uid, this.#user.gid);
    const options = ["--auth=trust", "--username=deckbands", "--locale=C", "--encoding=UTF8", "--no-sync"];
    execFileSync(join(bin, "initdb"), [...options, "-D", this.#data], {
      ...this.#user,
      cwd: this.#folder,
      stdio: "pipe",
    });
  }

  get #data(): string {
    return join(this.#folder, "data");
  }

  /** The address of one of its databases. */
  at(database: string): string {
    return `postgres://deckbands@${encodeURIComponent(this.#folder)}/${database}`;
  }

  async start(): Promise<void> {
    const settings = [
      "listen_addresses=",
      `unix_socket_directories=${this.#folder}`,
      "max_connections=200",
      ...this.#settings,
    ];
    const args = ["-D", this.#data, ...settings.flatMap((setting) => ["-c", setting])];
    this.#process = spawn(join(this.#bin, "postgres"), args, { ...this.#user, cwd: this.#folder, stdio: "ignore" });
    for (let tries = 0; ; tries++) {
      const client = new pg.Client({ connectionString: this.at("postgres") });
      client.on("error", () => {}); // it is not up yet
      const up = await client
        .connect()
        .then(() => client.end())
        .then(
          () => true,
          () => false,
        );
      if (up) return;
      if (tries > 300) throw new Error("PostgreSQL does not start");
      await new Promise((later) => setTimeout(later, 50));
    }
  }

  /** SIGINT cuts whoever is connected and shuts down; SIGQUIT leaves the work to recovery (PostgreSQL manual, section 19.5). */
  async stop(signal: "SIGINT" | "SIGQUIT" = "SIGINT"): Promise<void> {
    const running = this.#process;
    this.#process = null;
    if (!running || running.exitCode !== null) return;
    const gone = once(running, "exit");
    running.kill(signal);
    await gone;
  }

  async remove(): Promise<void> {
    await this.stop("SIGQUIT");
    rmSync(this.#folder, { recursive: true, force: true });
  }

  /** Make a database, as a copy of another one. */
  async make(name: string, from = "template1"): Promise<string> {
    await command(this.at("postgres"), `create database "${name}" template "${from}"`);
    return this.at(name);
  }

  /** Bytes that PostgreSQL's files take. */
  async bytes(): Promise<number> {
    const { stdout } = await promisify(execFile)("du", ["-sb", this.#data]);
    return Number(stdout.split("\t")[0]);
  }
}

/** One statement that stands by itself. */
export async function command(url: string, statement: string): Promise<void> {
  const client = new pg.Client({ connectionString: url });
  await client.connect();
  await client.query(statement).finally(() => client.end());
}

const idOf = (which: "-u" | "-g") => Number(execFileSync("id", [which, "postgres"], { encoding: "utf8" }));
