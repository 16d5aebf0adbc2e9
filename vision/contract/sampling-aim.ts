import { z } from "zod";
import { TABLE_MINERALS } from "./run-record.ts";
import { SchemaVersion } from "./shapes.ts";
import { Told } from "./told.ts";

/** How exact samples of a run must be, and of what they are: the question that a sampling plan answers. */
export const SamplingAim = z.strictObject({
  schemaVersion: SchemaVersion.default(1),
  run: z.string().trim().min(1).max(120),
  /** What is sampled, each by a plan of the same kind. */
  streams: z
    .array(
      z.strictObject({
        name: z.string().trim().min(1).max(120),
        /** Metal, % by weight. */
        gradePercent: z.number().gt(0).lt(100),
      }),
    )
    .min(1)
    .max(20),
  /** What the metal sits in. */
  mineral: z.enum(TABLE_MINERALS),
  mineralKgPerM3: z.number().min(1000).max(23_000),
  gangueKgPerM3: z.number().min(1000).max(23_000).default(2650),
  /** Opening that 95 % by weight passes, mm, and the size at which grains of the mineral come free. */
  topSizeMm: z.number().min(0.001).max(300),
  liberationMm: z.number().min(0.001).max(300),
  /** The 95 % size over the 5 % size. */
  sizeRatio: z.number().min(1).max(10_000).default(5),
  /** 0.5 for grains, 0.2 for flakes of gold, 1 for cubes. */
  shape: z.number().min(0.05).max(1).default(0.5),
  /** Largest error wanted of the grade, % of it, and how surely, %. */
  errorPercent: z.number().gt(0).max(100),
  surelyPercent: z.number().min(50).max(99.99).default(95),
  /** Times the sample is parted on its way to the assay. */
  stages: z.number().int().min(1).max(20).default(1),
  runMinutes: z.number().gt(0).max(100_000).optional(),
  /** Spread of the grade from cut to cut, one standard deviation, % of it, where it was found. */
  spreadOfCutsPercent: z.number().min(0).max(1000).optional(),
});
export type SamplingAim = z.infer<typeof SamplingAim>;

/** What to take of one stream. */
const SamplingPlan = z.strictObject({
  stream: z.string(),
  grams: z.number(),
  cuts: z.number().int(),
  gramsPerCut: z.number(),
  minutesBetweenCuts: z.number().nullable(),
  leastOpeningMm: z.number(),
  mostSpeedMPerS: z.number(),
});
export const SamplingPlans = z.strictObject({ plans: z.array(SamplingPlan), basis: z.array(Told) });
export type SamplingPlans = z.infer<typeof SamplingPlans>;
