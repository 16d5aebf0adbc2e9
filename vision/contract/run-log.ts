import { z } from "zod";
import {
  Figure,
  PenaltyWord,
  PriceWord,
  RunNote,
  RunPhoto,
  RunRecord,
  RunSample,
  RunSetting,
  RunStream,
} from "./run-record.ts";
import { listOf } from "./shapes.ts";
import { Id, Time } from "./stored.ts";

/** What is told of the run as a whole; what is left out stays as it was. */
export const RunAbout = RunRecord.pick({
  name: true,
  site: true,
  material: true,
  metal: true,
  mineral: true,
  startedAt: true,
  endedAt: true,
  hours: true,
}).partial();
export type RunAbout = z.infer<typeof RunAbout>;

/** One thing written down of a run, in kept units. */
export const RunEntry = z.discriminatedUnion("kind", [
  z.strictObject({ kind: z.literal("about"), about: RunAbout }),
  z.strictObject({ kind: z.literal("stream"), stream: RunStream }),
  z.strictObject({ kind: z.literal("sample"), sample: RunSample }),
  z.strictObject({ kind: z.literal("setting"), setting: RunSetting }),
  z.strictObject({ kind: z.literal("change"), change: RunSetting }),
  z.strictObject({ kind: z.literal("price"), price: z.strictObject({ of: PriceWord, figure: Figure }) }),
  z.strictObject({
    kind: z.literal("penalty"),
    penalty: z.strictObject({ assay: z.string().trim().min(1).max(40), of: PenaltyWord, figure: Figure }),
  }),
  z.strictObject({ kind: z.literal("photo"), photo: RunPhoto }),
  z.strictObject({ kind: z.literal("note"), note: RunNote }),
]);
export type RunEntry = z.infer<typeof RunEntry>;

/**
 * What is to be written down. `replaces` names the entry that it corrects; with `entry` null that one is withdrawn. Entries
 * are never changed or lost: a corrected one stays in the list.
 */
export const NewRunLogEntry = z
  .strictObject({ entry: RunEntry.nullable(), replaces: Id.nullable().default(null) })
  .refine(({ entry, replaces }) => entry !== null || replaces !== null, {
    message: "must hold an entry, or name the one to withdraw",
    path: ["entry"],
  });
export type NewRunLogEntry = z.infer<typeof NewRunLogEntry>;
export type NewRunLogEntryInput = z.input<typeof NewRunLogEntry>;

/** An entry as it is kept. `replacedBy` is the one that corrects or withdraws it. */
export const RunLogEntry = z.strictObject({
  id: Id,
  at: Time,
  person: Id,
  entry: RunEntry.nullable(),
  replaces: Id.nullable(),
  replacedBy: Id.nullable(),
});
export type RunLogEntry = z.infer<typeof RunLogEntry>;
export const RunLog = listOf(RunLogEntry);

/** What was taken from a sheet; `version` is the run's now. */
export const SheetTaken = z.strictObject({
  version: z.number().int().min(0),
  samples: z.number().int().min(0),
  streams: z.number().int().min(0),
});
export type SheetTaken = z.infer<typeof SheetTaken>;
