import { z } from "zod";
import { fieldFaults, sayFaults } from "./plain-words.ts";
import { UsageError } from "./usage.ts";

const Environment = z.object({
  PORT: z.coerce.number().int().min(0).max(65535).default(8737),
  HOST: z.string().min(1).default("127.0.0.1"),
  DECKBANDS_DATA: z.string().min(1).optional(),
});

/** Where to serve, and where to keep photos and readings; without `dataFolder`, in a temporary folder. */
export interface Config {
  readonly port: number;
  readonly host: string;
  readonly dataFolder: string | null;
}

/** The environment, checked once. @throws {UsageError} naming the variable. */
export function readConfig(environment: NodeJS.ProcessEnv): Config {
  const set = Object.fromEntries(Object.entries(environment).filter(([, value]) => value !== ""));
  const checked = Environment.safeParse(set);
  if (!checked.success) throw new UsageError(`Settings of the environment: ${sayFaults(fieldFaults(checked.error))}`);
  const { PORT, HOST, DECKBANDS_DATA } = checked.data;
  return { port: PORT, host: HOST, dataFolder: DECKBANDS_DATA ?? null };
}
