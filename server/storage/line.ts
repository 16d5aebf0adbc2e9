import pg from "pg";
import { StoreAway } from "./store-faults.ts";

/** One connection to the database that stays, for what hangs on a connection: locks, and hearing what others tell. */
export class Line {
  readonly #url: string;
  readonly #name: string;
  #client: Promise<pg.Client> | null = null;
  #closed = false;

  constructor(url: string, name: string) {
    this.#url = url;
    this.#name = name;
  }

  /** The connection, made anew where it was cut. @param cut  Called when it is cut. */
  connected(cut: () => void = () => {}): Promise<pg.Client> {
    if (this.#closed) throw new StoreAway("The program is closing.");
    this.#client ??= this.#connect(cut);
    return this.#client;
  }

  async close(): Promise<void> {
    this.#closed = true;
    const client = await this.#client?.catch(() => null);
    this.#client = null;
    await client?.end();
  }

  async #connect(cut: () => void): Promise<pg.Client> {
    const client = new pg.Client({ connectionString: this.#url, application_name: this.#name, keepAlive: true });
    const forget = () => {
      this.#client = null;
      cut();
    };
    client.on("error", () => {}); // its end is told as well
    try {
      await client.connect();
      client.once("end", forget);
      return client;
    } catch (error) {
      this.#client = null;
      throw error;
    }
  }
}
