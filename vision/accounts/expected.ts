import type { Expectation, Expected, Reading, RunRecord } from "../contract/index.ts";
import type { Measured } from "../process/range.ts";
import { inEnglish, said } from "../said.ts";
import { AccountsError } from "./fault.ts";
import { launderSharesOf } from "./photo-shares.ts";
import { expectFrom, type Meeting, type Relation, relate } from "./picture-meets-assay.ts";
import { accountFor } from "./run-accounts.ts";
import { metalPercent, PURE_MINERALS } from "./separation.ts";

/** A run of one deck with the readings of its photos. */
export interface SeenRun {
  /** As people know it; two of one name are told apart by `id`. */
  readonly id: string;
  readonly record: RunRecord;
  readonly readings: readonly Reading[];
}

/** What stands for what: dense's share of a launder for its grade, the dense carried there for its recovery. */
const PAIRS = {
  grade: { photo: "denseShare", assay: "gradePercent", times: 1 },
  recovery: { photo: "denseCarried", assay: "recovery", times: 100 },
} as const;
type Figure = keyof typeof PAIRS;

/**
 * What a photo lets expect of each launder's grade and recovery, from runs of its material on its deck.
 *
 * A launder is the stream that bears its name, else the only one of its product. Runs whose figures do not add up, or that
 * have no usable photo, teach nothing.
 *
 * @param of    The run that the photo is of: its material and metal count; what it teaches itself is left out.
 * @param runs  All runs of the deck.
 */
export function expectedOf(reading: Reading, of: SeenRun, runs: readonly SeenRun[]): Omit<Expected, "reading"> {
  const { material, mineral } = of.record;
  const same = runs.filter(({ id, record }) => id !== of.id && alike(record.material, material));
  // a run that says nothing of its metal is for that of the others of its material
  const metal = [of, ...same].map(({ record }) => metalOf(record)).find((one) => one !== null) ?? "";
  const others = same.filter(({ record }) => metalOf(record) === metal);
  const pure = mineral ? metalPercent(mineral) : 100;
  const mine = new Map(launderSharesOf(reading).map((shares) => [shares.launder, shares]));
  const relations = {
    grade: relate(others.flatMap((run) => meetingsOf(run, metal, "grade"))),
    recovery: relate(others.flatMap((run) => meetingsOf(run, metal, "recovery"))),
  };
  const named = new Map(runs.map(({ id, record }) => [id, record.name]));
  const expectation = (launder: string, figure: Figure): Expectation => {
    const relation = relations[figure].find((one) => one.launder === launder);
    const photo = mine.get(launder)?.[PAIRS[figure].photo] ?? null;
    const told = tell(relation, photo, figure === "grade" ? [0, pure] : [0, 100]);
    return { ...told, leftOut: told.leftOut.map((one) => ({ ...one, run: named.get(one.run) ?? one.run })) };
  };
  return {
    material,
    metal,
    launders: reading.launders.map(({ name, product }) => {
      return { launder: name, product, grade: expectation(name, "grade"), recovery: expectation(name, "recovery") };
    }),
  };
}

const alike = (a: string, b: string) => a.trim().toLowerCase() === b.trim().toLowerCase();
/** The metal that a run is for, as far as it says: told, assayed first, or that of its mineral. */
function metalOf({ metal, samples, mineral }: RunRecord): string | null {
  const assay = samples.find(({ kind }) => kind === "assay");
  return metal || Object.keys(assay?.figures ?? {})[0] || (mineral && PURE_MINERALS[mineral][0]);
}

/** One run's launders: what its photos say beside what its balance says. */
function meetingsOf({ id, record, readings }: SeenRun, metal: string, figure: Figure): Meeting[] {
  const shares = readings.flatMap((reading) => launderSharesOf(reading));
  const products = accountsOf(record)?.products ?? [];
  const launders = new Map(readings.flatMap(({ launders: all }) => all.map(({ name, product }) => [name, product])));
  return [...launders].flatMap(([launder, product]): Meeting[] => {
    const named = record.streams.find(({ name }) => alike(name, launder));
    const sole = record.streams.filter((stream) => stream.product === product);
    const stream = named ?? (sole.length === 1 ? sole[0] : undefined);
    const found = products.find(({ stream: name }) => name === stream?.name)?.metals.find((one) => one.metal === metal);
    const { photo, assay, times } = PAIRS[figure];
    const said = found?.[assay];
    const photosSay = shares.flatMap((one) => (one.launder === launder && one[photo] ? [one[photo]] : []));
    if (!said || said.error === 0 || photosSay.length === 0) return [];
    const assaySays = { value: times * said.value, error: times * said.error };
    return [{ run: id, site: record.site, material: record.material.toLowerCase(), launder, photosSay, assaySays }];
  });
}

function accountsOf(record: RunRecord) {
  try {
    const accounts = accountFor(record);
    return accounts.judged.fits ? accounts : null;
  } catch (error) {
    if (error instanceof AccountsError) return null;
    throw error;
  }
}

function tell(relation: Relation | undefined, photo: Measured | null, limits: readonly [number, number]): Expectation {
  const none = said("said.runs.noRunYet");
  if (!relation)
    return { expected: null, refusal: inEnglish(none), said: none, runs: 0, leftOut: [], leftOutError: null };
  const { line, runs, leftOutError } = relation;
  const leftOut = relation.leftOut.map(({ run, foretold, assaySays }) => ({
    run,
    foretold: plain(foretold),
    assaySays,
  }));
  const refusal = relation.refusal ?? (photo ? null : said("said.runs.nothingInLaunder"));
  const expected = line && photo ? plain(expectFrom(relation, [photo], limits)) : null;
  return {
    expected,
    refusal: refusal && inEnglish(refusal),
    said: refusal && [...refusal],
    runs,
    leftOut,
    leftOutError,
  };
}

const plain = ({ value, error, from, to, outside }: NonNullable<Expectation["expected"]>) => ({
  value,
  error,
  from,
  to,
  outside,
});
