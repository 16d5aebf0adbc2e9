import { readRunSheet } from "../../../vision/accounts/run-sheet.ts";
import type { DeckFile, Reading, RunRecord } from "../../../vision/contract/index.ts";
import { DeckFile as DeckFileSchema } from "../../../vision/contract/index.ts";
import { readingOf } from "./deck-readings.ts";

/**
 * An invented table whose truth is known: three classes that leave over stretches of the outlet with normal tails, cut by two
 * splitters. Nothing here uses the program's own sums: masses are counted bin by bin.
 */

export const OUTLET_MM = 2740;
export const MONEY_DECK: DeckFile = DeckFileSchema.parse({
  schemaVersion: 1,
  lengthMm: 1830,
  widthMm: 910,
  splitters: [
    { name: "upper", between: ["dense", "middling"], atMm: 240, minMm: 40, maxMm: 600, stepMm: 10 },
    { name: "lower", between: ["middling", "light"], atMm: 640, minMm: 300, maxMm: 1200, stepMm: 10 },
  ],
});

export interface Plant {
  readonly denseTo: number;
  readonly middlingTo: number;
  /** One sd of the tails at the bands' ends, mm. */
  readonly tailMm: number;
  /** For one of feed: what of it is dense, middling, light grains, and their grades, %. */
  readonly mass: readonly [number, number, number];
  readonly grade: readonly [number, number, number];
}
export const PLANT: Plant = {
  denseTo: 200,
  middlingTo: 600,
  tailMm: 22,
  mass: [0.04, 0.12, 0.84],
  grade: [55, 3, 0.1],
};

const BIN = 2;
/** Mass of each class in each 2 mm of the outlet: boxes, each of its bins smeared by its own normal curve, piece by piece. */
export function binsOf({ denseTo, middlingTo, tailMm, mass }: Plant): Float64Array[] {
  const ends = [0, denseTo, middlingTo, OUTLET_MM];
  return mass.map((of, kind) => {
    const bins = new Float64Array(OUTLET_MM / BIN);
    const [from, to] = [ends[kind]!, ends[kind + 1]!];
    for (let mm = from + 0.5; mm < to; mm++) {
      for (let step = -40; step <= 40; step++) {
        const z = step / 10;
        const at = Math.min(OUTLET_MM - 1, Math.max(0, mm + z * tailMm));
        bins[Math.floor(at / BIN)]! += (of / (to - from)) * (Math.exp((-z * z) / 2) / Math.sqrt(2 * Math.PI)) * 0.1;
      }
    }
    return bins;
  });
}

/** Mass and metal, for one of feed, that each of three launders takes. */
export function launders(plant: Plant, [upper, lower]: readonly number[], bins = binsOf(plant)) {
  const ends = [0, upper!, lower!, OUTLET_MM];
  return [0, 1, 2].map((launder) => {
    let [mass, metal, dense] = [0, 0, 0];
    for (let kind = 0; kind < 3; kind++) {
      for (let bin = ends[launder]! / BIN; bin < ends[launder + 1]! / BIN; bin++) {
        mass += bins[kind]![bin]!;
        metal += (bins[kind]![bin]! * plant.grade[kind]!) / 100;
        if (kind === 0) dense += (bins[kind]![bin]! * plant.grade[kind]!) / 100;
      }
    }
    return { mass, metal, dense };
  });
}

export interface Noise {
  readonly normal: () => number;
  readonly edgeMm: number;
  /** Of masses and assays, a share. */
  readonly share: number;
}
export const NO_NOISE: Noise = { normal: () => 0, edgeMm: 4, share: 0.01 };

/** What a photo of it shows; bands end where it says, give or take. */
export function photoOf({ denseTo, middlingTo }: Plant, { normal, edgeMm }: Noise): Reading {
  const reading = readingOf({
    denseTo: denseTo + edgeMm * normal(),
    middlingTo: middlingTo + edgeMm * normal(),
    dense: 0.05,
    middling: 0.1,
    light: 0.4,
    dry: 0,
  });
  const sure = (error: number | null) => (error === null ? null : edgeMm);
  return {
    ...reading,
    bands: reading.bands.map((band) => ({
      ...band,
      edgeBlurMm: 0,
      outlet: band.outlet.map((o) => ({ ...o, fromErrorMm: sure(o.fromErrorMm), toErrorMm: sure(o.toErrorMm) })),
    })),
  };
}

export const MONEY_PRICES = [
  "price,,,metal,20000,0,per t",
  "price,,,payable,95,0,%",
  "price,,,deduction,1,0,%",
  "price,,,treatment,400,0,per t",
  "price,,,rerun,6,0,per t",
  "price,,,regrind,25,0,per t",
  "price,,,discard,1,0,per t",
  "price,,,free won,70,0,%",
  "price,,,free won ground,60,0,%",
  "price,,,locked won ground,55,0,%",
  "price,,,hours a day,20,0,h",
];

/** A sheet of ten hours at 500 kg/h, weighed and assayed with the stated errors. */
export function sheetOf(
  plant: Plant,
  cuts: readonly number[],
  { normal, share }: Noise,
  prices: readonly string[] = MONEY_PRICES,
): RunRecord {
  const off = () => 1 + share * normal();
  const fed = 5000;
  const taken = launders(plant, cuts);
  const head = taken.reduce((sum, { metal }) => sum + metal, 0) * 100;
  const row = (kind: string, stream: string, item: string, value: number, unit: string) => {
    const told = value * off();
    return `${kind},${stream},,${item},${told},${share * value},${unit}`;
  };
  const rows = [
    "kind,stream,sample,item,value,error,unit",
    "run,,,name,Invented,,",
    "run,,,metal,Sn,,",
    "run,,,hours,10,0,h",
    `run,,,start,2031-05-04 08:00,,`,
    row("mass", "feed", "dry", fed, "kg"),
    row("assay", "feed", "Sn", head, "%"),
    ...(["dense", "middling", "light"] as const).flatMap((stream, i) => [
      row("mass", stream, "dry", fed * taken[i]!.mass, "kg"),
      row("assay", stream, "Sn", (100 * taken[i]!.metal) / taken[i]!.mass, "%"),
    ]),
    // no grain of the middling class is free of light, half of the dense mineral in it is locked
    "count,middling,,free dense,100,,",
    "count,middling,,locked,100,,",
    ...prices,
  ];
  const { run, faults } = readRunSheet(rows.join("\n"));
  if (!run) throw new Error(faults.map(({ say }) => say).join(" "));
  return run;
}
