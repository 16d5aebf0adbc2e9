import { z } from "zod";
import { SchemaVersion } from "./shapes.ts";

/** What was checked at one step of setting up a table: by whom, when, and what was read. */
export const SetupEntry = z.strictObject({
  /** The step's id in the guide; `deckbands setup --json` lists them. */
  step: z.string().min(1),
  done: z.boolean(),
  who: z.string().min(1),
  /** ISO 8601 with the offset from UTC. */
  at: z.iso.datetime({ offset: true }),
  /** Readings by the name of the check, in the guide's unit; several for one check are repeats. */
  values: z.record(z.string(), z.array(z.number()).min(1)).default({}),
  note: z.string().optional(),
});
export type SetupEntry = z.infer<typeof SetupEntry>;

/** A table set up: kept beside its deck file, so that the next person sees what it stood at. */
export const SetupRecord = z.strictObject({
  schemaVersion: SchemaVersion,
  deck: z.string().min(1),
  material: z.string().optional(),
  entries: z.array(SetupEntry),
});
export type SetupRecord = z.infer<typeof SetupRecord>;
