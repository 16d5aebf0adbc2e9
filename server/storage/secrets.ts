import { readFile, writeFile } from "node:fs/promises";
import { join } from "node:path";
import type { Db } from "./database.ts";

/**
 * Keys of the server's own, each made when it is first wanted: what signs cookies, packs and messages. A backup does not hold
 * them: on a restored server people log in again, devices subscribe anew, and packs are signed by another key.
 */
export interface Secrets {
  /** The secret of this name; `make` makes it where there is none, and only one that was made is ever answered. */
  get(name: SecretName, make: () => string): Promise<string>;
}

/** File names in a data folder. */
export const SECRETS = ["secret", "push-key", "pack-key.pem"] as const;
export type SecretName = (typeof SECRETS)[number];

/** As files that only their owner may read. */
export const secretFiles = (folder: string): Secrets => ({
  async get(name, make) {
    const path = join(folder, name);
    try {
      await writeFile(path, make(), { flag: "wx", mode: 0o600, flush: true });
    } catch (error) {
      if ((error as NodeJS.ErrnoException).code !== "EEXIST") throw error;
    }
    return readFile(path, "utf8");
  },
});

/** As rows, where several processes need the same ones. */
export const secretRows = (db: Db): Secrets => ({
  async get(name, make) {
    await db
      .insertInto("secrets")
      .values({ name, value: make() })
      .onConflict((on) => on.column("name").doNothing())
      .execute();
    return (await db.selectFrom("secrets").select("value").where("name", "=", name).executeTakeFirstOrThrow()).value;
  },
});
