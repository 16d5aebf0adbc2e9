import { availableParallelism } from "node:os";
import { z } from "zod";
import { fieldFaults, sayFaults } from "./plain-words.ts";
import type { Elsewhere } from "./storage/data.ts";
import { UsageError } from "./usage.ts";

/** Each reading process needs some 800 MB; more than two are for those who ask for them. */
const USUAL_READERS = Math.min(2, availableParallelism());

const count = (most: number) => z.coerce.number().int().min(0).max(most);
const Environment = z.object({
  PORT: count(65535).default(8737),
  HOST: z.string().min(1).default("127.0.0.1"),
  DECKBANDS_DATA: z.string().min(1).optional(),
  DECKBANDS_DATABASE: z.url({ protocol: /^postgres(ql)?$/, hostname: /.*/ }).optional(),
  DECKBANDS_OBJECTS: z
    .url({ protocol: /^https?$/ })
    .regex(/\/\/[^/@]+\/[^/]+/, "it names a bucket: https://HOST/BUCKET")
    .optional(),
  DECKBANDS_URL: z.url({ protocol: /^https?$/ }).optional(),
  DECKBANDS_ROLE: z.enum(["all", "web", "worker"]).default("all"),
  DECKBANDS_READERS: count(64).default(USUAL_READERS),
  DECKBANDS_READS_PER_MINUTE: count(1e7).optional(),
  DECKBANDS_WRITES_PER_MINUTE: count(1e7).optional(),
  DECKBANDS_LOG: z.enum(["silent", "error", "warn", "info", "debug"]).default("warn"),
});

/** Where to serve, and where to keep photos and readings; without `dataFolder`, in a temporary folder. */
export interface Config {
  readonly port: number;
  readonly host: string;
  readonly dataFolder: string | null;
  /** What is not kept there. */
  readonly elsewhere: Elsewhere;
  /** What this process does: answer people, read photos, or both. */
  readonly role: "all" | "web" | "worker";
  /** Where people reach the server, where that is not `host`, such as behind a proxy that speaks HTTPS. */
  readonly address: string | null;
  /** Photos read at the same time; 0 keeps jobs waiting. */
  readonly readers: number;
  readonly limits: { readonly reads: number; readonly writes: number };
  readonly logLevel: string;
}

/** The environment, checked once. @throws {UsageError} naming the variable. */
export function readConfig(environment: NodeJS.ProcessEnv): Config {
  const set = Object.fromEntries(Object.entries(environment).filter(([, value]) => value !== ""));
  const checked = Environment.safeParse(set);
  if (!checked.success) throw new UsageError(`Settings of the environment: ${sayFaults(fieldFaults(checked.error))}`);
  const { DECKBANDS_DATABASE: database = null, DECKBANDS_OBJECTS: objects = null } = checked.data;
  if ((database === null) !== (objects === null) && checked.data.DECKBANDS_DATA === undefined) {
    const what = database === null ? "rows" : "photos";
    throw new UsageError(
      `Name a folder for ${what} in DECKBANDS_DATA, or both DECKBANDS_DATABASE and DECKBANDS_OBJECTS.`,
    );
  }
  const { DECKBANDS_ROLE: role } = checked.data;
  if (role !== "all" && database === null) {
    throw new UsageError(
      `DECKBANDS_ROLE=${role} needs other processes beside it: name what they share in DECKBANDS_DATABASE.`,
    );
  }
  const { PORT, HOST, DECKBANDS_DATA, DECKBANDS_READERS, DECKBANDS_LOG, ...rates } = checked.data;
  return {
    port: PORT,
    host: HOST,
    dataFolder: DECKBANDS_DATA ?? null,
    elsewhere: { database, objects },
    address: rates.DECKBANDS_URL ?? null,
    role,
    readers: role === "web" ? 0 : DECKBANDS_READERS,
    limits: { reads: rates.DECKBANDS_READS_PER_MINUTE ?? 3000, writes: rates.DECKBANDS_WRITES_PER_MINUTE ?? 600 },
    logLevel: DECKBANDS_LOG,
  };
}
