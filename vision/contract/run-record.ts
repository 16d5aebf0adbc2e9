import { z } from "zod";

/** Minerals and metals that tables are run for. */
export const TABLE_MINERALS = [
  "cassiterite",
  "galena",
  "sphalerite",
  "chalcopyrite",
  "scheelite",
  "chromite",
  "ilmenite",
  "native gold",
  "native copper",
] as const;

/** A value with one standard error, or null where nobody said how exact it is. */
export const Figure = z.strictObject({ value: z.number(), error: z.number().min(0).nullable() });
export type Figure = z.infer<typeof Figure>;

const Name = z.string().trim().min(1).max(120);
const Text = z.string().max(4000);
/** Date and time, with or without the offset from UTC, or the time of day alone. */
export const When = z.string().regex(/^(\d{4}-\d{2}-\d{2}T)?([01]\d|2[0-3]):[0-5]\d(:[0-5]\d)?(Z|[+-]\d{2}:\d{2})?$/);

/** Where solids go; null: from or to the outside. */
export const RunStream = z.strictObject({
  name: Name,
  from: Name.nullable(),
  to: Name.nullable(),
  /** What it is meant to be; the middling is judged, the dense product's separation is told. */
  product: z.enum(["dense", "middling", "light"]).nullable(),
});
export type RunStream = z.infer<typeof RunStream>;

export const SAMPLE_KINDS = ["mass", "cut", "assay", "fraction", "count", "magnet", "pan"] as const;

/**
 * One thing that was weighed, timed, assayed or counted of one stream. Figures by name, in kept units: `wet`, `dry`, `held`,
 * `charge`, `panned`, `mass` kg, `moisture` %, `time` s; of an assay or a fraction each metal's grade in %; of a count or
 * a fraction `free dense`, `free light`, `locked` grains, of a pan `grains`.
 */
export const RunSample = z.strictObject({
  kind: z.enum(SAMPLE_KINDS),
  stream: Name,
  /** Which cut, try, replicate or fraction; empty where there is only one. */
  sample: z.string().max(60),
  /** Screen openings of a fraction, mm. */
  sizeMm: z.tuple([z.number().min(0), z.number().positive()]).nullable(),
  figures: z.record(z.string().min(1).max(40), Figure),
  at: When.nullable(),
  who: z.string().max(120),
  note: Text,
});
export type RunSample = z.infer<typeof RunSample>;

/** Controls by the words of the sheet, with what each is of. */
export const CONTROLS = {
  "wash water": "flow",
  "feed water": "flow",
  "feed rate": "rate",
  "feed solids": "percent",
  "cross slope": "slope",
  "end slope": "slope",
  stroke: "length",
  speed: "frequency",
  splitter: "length",
} as const;
export type ControlName = keyof typeof CONTROLS;

/** What a control stood at, or was set to; in its kept unit. */
export const RunSetting = z.strictObject({
  control: z.enum(Object.keys(CONTROLS) as [ControlName, ...ControlName[]]),
  /** Which splitter, or which node a water goes to; empty where there is one. */
  target: z.string().max(60),
  figure: Figure,
  at: When.nullable(),
  who: z.string().max(120),
  note: Text,
});
export type RunSetting = z.infer<typeof RunSetting>;

/**
 * Money of a run: prices and costs a tonne, shares in %. What a buyer pays for a tonne of dense product is `metal` × the
 * metal that he pays for, less `treatment` and penalties. He pays for `payable` % of the metal, and at most for the grade
 * less `deduction` points.
 */
export const PRICES = {
  metal: "price",
  payable: "percent",
  deduction: "percent",
  treatment: "money",
  rerun: "money",
  regrind: "money",
  discard: "money",
  "free won": "percent",
  "free won ground": "percent",
  "locked won ground": "percent",
  "hours a day": "hours",
} as const;
export type PriceName = keyof typeof PRICES;
export const PriceWord = z.enum(Object.keys(PRICES) as [PriceName, ...PriceName[]]);

/** What a buyer takes off a tonne of dense product for what he does not want in it. */
export const PENALTIES = { penalty: "money", "penalty above": "percent" } as const;
export type PenaltyName = keyof typeof PENALTIES;
export const PenaltyWord = z.enum(Object.keys(PENALTIES) as [PenaltyName, ...PenaltyName[]]);
/** `penalty`: for each % of the assay above `penalty above`, which is 0 where it is not told. */
export const Penalty = z.partialRecord(PenaltyWord, Figure);
export type Penalty = z.infer<typeof Penalty>;

/** A photo that a sheet names. */
export const RunPhoto = z.strictObject({ name: z.string().min(1).max(255), at: When.nullable(), note: Text });
export type RunPhoto = z.infer<typeof RunPhoto>;

export const RunNote = z.strictObject({ text: Text, at: When.nullable(), who: z.string().max(120) });
export type RunNote = z.infer<typeof RunNote>;

/** A stretch of work on one table with one material: what it was set to, what was taken from it, what was seen. */
export const RunRecord = z.strictObject({
  schemaVersion: z.literal(1),
  name: Name,
  site: z.string().max(120),
  material: z.string().max(120),
  /** The metal that the run is for, as its assays name it; empty: the first that was assayed. */
  metal: z.string().max(40),
  /** What it sits in, for separation efficiency; null where it is none of these. */
  mineral: z.enum(TABLE_MINERALS).nullable(),
  startedAt: When.nullable(),
  endedAt: When.nullable(),
  /** How long the streams ran that were timed. */
  hours: Figure.nullable(),
  streams: z.array(RunStream).max(200),
  samples: z.array(RunSample).max(5000),
  settings: z.array(RunSetting).max(1000),
  changes: z.array(RunSetting).max(1000),
  photos: z.array(RunPhoto).max(5000),
  notes: z.array(RunNote).max(1000),
  prices: z.partialRecord(PriceWord, Figure),
  /** By the assay that they are for. */
  penalties: z.record(z.string().min(1).max(40), Penalty).default({}),
});
export type RunRecord = z.infer<typeof RunRecord>;
