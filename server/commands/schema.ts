import { z } from "zod";
import {
  AimFile,
  CornersFile,
  DeckFile,
  Hint,
  MaterialProfile,
  Reading,
  RunRecord,
  SamplingAim,
  SettingsFile,
  TapsFile,
} from "../../vision/contract/index.ts";
import { UsageError } from "../usage.ts";

const SCHEMAS: Record<string, z.ZodType> = {
  deck: DeckFile,
  corners: CornersFile,
  taps: TapsFile,
  profile: MaterialProfile,
  settings: SettingsFile,
  aim: AimFile,
  reading: Reading,
  hint: Hint,
  run: RunRecord,
  sampling: SamplingAim,
};

/** Print the JSON Schema of one kind of file, as people write it. */
export function schema(name: string | undefined): number {
  const found = name === undefined ? undefined : Object.hasOwn(SCHEMAS, name) ? SCHEMAS[name] : undefined;
  if (!found) throw new UsageError(`Name one of: ${Object.keys(SCHEMAS).join(", ")}.`);
  process.stdout.write(`${JSON.stringify(z.toJSONSchema(found, { io: "input" }), null, 2)}\n`);
  return 0;
}
