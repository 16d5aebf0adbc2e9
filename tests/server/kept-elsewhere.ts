import type { TestProject } from "vitest/node";
import { openDatabase } from "../../server/storage/database.ts";
import { Cluster, postgresPrograms } from "./postgres.ts";

declare module "vitest" {
  export interface ProvidedContext {
    /** The address of a PostgreSQL server's database, of which each test gets a copy. */
    postgres: string;
  }
}

export const TEMPLATE = "deckbands_template";

/** Before the tests that keep everything in PostgreSQL: start one, with a database to copy. */
export default async function setUp(project: TestProject) {
  const bin = postgresPrograms();
  if (!bin) {
    console.log(
      'PostgreSQL is not there: nothing is tested on it. Install the package "postgresql", or set POSTGRES_BIN.',
    );
    return;
  }
  const cluster = new Cluster(bin, ["fsync=off"]); // nothing of it outlives the tests
  await cluster.start();
  await (await openDatabase("", await cluster.make(TEMPLATE))).destroy();
  project.provide("postgres", cluster.at(TEMPLATE));
  return () => cluster.remove();
}
