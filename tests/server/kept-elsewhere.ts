import type { TestProject } from "vitest/node";
import { DatabaseQueue } from "../../server/jobs/database-queue.ts";
import { openLog } from "../../server/log.ts";
import { openDatabase } from "../../server/storage/database.ts";
import { Bucket } from "./bucket.ts";
import { Cluster, postgresPrograms } from "./postgres.ts";

declare module "vitest" {
  export interface ProvidedContext {
    /** The address of a PostgreSQL server's database, of which each test gets a copy. */
    postgres: string;
    /** The address of a bucket, of which each test has a part. */
    objects: string;
  }
}

export const TEMPLATE = "deckbands_template";

/** Before the tests that keep everything elsewhere: start PostgreSQL, with a database to copy, and object storage. */
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
  const template = await cluster.make(TEMPLATE);
  await (await openDatabase("", template)).destroy();
  await DatabaseQueue.open(template, openLog("silent"));
  project.provide("postgres", cluster.at(TEMPLATE));
  const bucket = new Bucket();
  await bucket.start();
  project.provide("objects", bucket.at);
  return () => Promise.all([cluster.remove(), bucket.remove()]);
}
