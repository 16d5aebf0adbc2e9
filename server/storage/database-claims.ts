import { type Claims, OwnClaims } from "./claims.ts";
import { Line } from "./line.ts";

/** Apart from other locks of the database, which have one number and not two. */
const CLAIMS = 7306;

/**
 * Between processes, by advisory locks of PostgreSQL, which end with the process that has them. Two names in four thousand
 * million share a number: then one waits for the other.
 */
export class DatabaseClaims implements Claims {
  readonly #line: Line;
  readonly #own = new OwnClaims(); // one connection may take its own lock again and again

  constructor(url: string) {
    this.#line = new Line(url, "deckbands claims");
  }

  async claim(name: string): Promise<(() => Promise<void>) | null> {
    const release = await this.#own.claim(name);
    if (!release) return null;
    try {
      const line = await this.#line.connected();
      const ask = async (how: string) => {
        const { rows } = await line.query<{ is: boolean }>(`select ${how}($1, hashtext($2)) as is`, [CLAIMS, name]);
        return rows[0]!.is;
      };
      if (await ask("pg_try_advisory_lock")) {
        return async () => {
          await ask("pg_advisory_unlock").catch(() => {}); // cut off: it ended with the line
          await release();
        };
      }
    } catch (error) {
      await release();
      throw error;
    }
    await release();
    return null;
  }

  close(): Promise<void> {
    return this.#line.close();
  }
}
