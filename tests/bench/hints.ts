/**
 * Is the first hint on a photo the one that the truth would give? `npm run bench:hints [-- FOLDER …] [--scenes N] [--from SEED] [--found] [--kept FILE]`.
 *
 * Each photo that has NAME.truth.png beside it is read, and a reading is made of its true classes by the same steps; both are
 * asked for advice with nothing typed in. `--scenes N` reads scenes of vision/scene/ of even seeds instead. `--found` gives no corners.
 * `--kept FILE` keeps the readings there; when it is there already they are advised anew, without reading photos. Exit code 0.
 */
import { existsSync } from "node:fs";
import { readFile, writeFile } from "node:fs/promises";
import { parseArgs } from "node:util";
import { openEyes } from "../../server/eyes.ts";
import type { DeckFileInput, Hint, Reading } from "../../vision/contract/index.ts";
import { analyse, describeDeck, loadOpenCv, VisionError } from "../../vision/index.ts";
import { advise } from "../../vision/rules.ts";
import { type Case, casesOf, testScenes } from "./cases.ts";
import { type Agreement, agreementOf, trueReading } from "./hint-truth.ts";

const { values, positionals } = parseArgs({
  allowPositionals: true,
  options: {
    scenes: { type: "string" },
    from: { type: "string" },
    found: { type: "boolean" },
    kept: { type: "string" },
  },
});

/** What was read in a photo and what its true classes give, before any advice. */
interface Both {
  readonly name: string;
  readonly deckFile: DeckFileInput;
  readonly read: Reading;
  readonly truth: Reading;
}

const all = values.kept && existsSync(values.kept) ? JSON.parse(await readFile(values.kept, "utf8")) : await readAll();
if (values.kept) await writeFile(values.kept, JSON.stringify(all));

const tally = new Map<Agreement, number>();
let sureAndWrong = 0;
for (const { name, deckFile, read, truth } of all as Both[]) {
  const deck = describeDeck(deckFile);
  const [own, right] = [read, truth].map((reading) => advise({ ...reading, advice: [] }, deck, {})) as [Hint[], Hint[]];
  const found = agreementOf(own, right);
  tally.set(found.how, (tally.get(found.how) ?? 0) + 1);
  if (found.wrongAndSure) sureAndWrong++;
  console.log(
    `${name.padEnd(28)} ${found.wrongAndSure ? "WRONG AND SURE" : found.how.padEnd(14)} read: ${short(own)}   truth: ${short(right)}`,
  );
}
const count = (all as Both[]).length;
console.log(
  `${count} photos: ${[...tally].map(([how, n]) => `${how} ${n}`).join(", ")}; wrong and sure ${sureAndWrong} (${((100 * sureAndWrong) / count).toFixed(0)} %)`,
);

function short(hints: readonly Hint[]): string {
  const [first, ...others] = hints;
  const one = ({ control, target, direction, amount }: Hint) =>
    [control, target, direction, amount && `${amount.value} ${amount.unit}`].filter(Boolean).join(" ");
  return `${one(first!)} ${(100 * first!.confidence).toFixed(0)} % [${first!.evidence.symptom ?? ""}]${others.map((h) => ` / ${one(h)}`).join("")}`;
}

async function readAll(): Promise<Both[]> {
  const { cv } = await loadOpenCv();
  const engines = { cv, eyes: await openEyes() };
  const found: Both[] = [];
  for await (const one of cases()) {
    const { name, deck, corners, photo } = one;
    const source = { name, sha256: "0".repeat(64), takenAt: null };
    try {
      const job = { deck, corners: values.found ? null : corners, notes: {}, source };
      const { reading, deck: seen } = analyse(engines, photo, job);
      found.push({ name, deckFile: seen.file, read: reading, truth: trueReading(cv, one) });
    } catch (error) {
      if (!(error instanceof VisionError)) throw error;
      console.log(`${name.padEnd(28)} not read: ${error.message}`);
    }
  }
  return found;
}

async function* cases(): AsyncGenerator<Case> {
  if (values.scenes) yield* testScenes(Number(values.scenes), values.from ? Number(values.from) : undefined);
  else for (const folder of positionals.length > 0 ? positionals : ["sample-images"]) yield* casesOf(folder);
}
