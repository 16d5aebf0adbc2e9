import type { Reading } from "../../../vision/contract/index.ts";
import { readingOf } from "./deck-readings.ts";

/** Runs with photos and assays, invented: the dense launder's grade is a straight line in where the dense band ends. */

/** A photo whose dense band ends at `denseTo` mm; the dense launder ends at 240 mm. */
export const launderReading = (denseTo: number): Reading => ({
  ...readingOf({ denseTo, middlingTo: 640, dense: 0.05, middling: 0.1, light: 0.4, dry: 0 }),
  launders: [
    { name: "A", product: "dense", fromMm: 0, toMm: 240, carried: { dense: 1, middling: 0, light: 0 } },
    { name: "B", product: "light", fromMm: 240, toMm: 2740, carried: { dense: 0, middling: 1, light: 1 } },
  ],
});
/** What such a launder truly holds, % Sn. */
export const gradeAt = (denseTo: number) => 10 + (30 * denseTo) / 240;

/** A run sheet of two products whose figures agree, weighed and assayed to 1 %. @param grade  Of the dense launder, % Sn. */
export function launderSheet(name: string, denseTo: number, grade = gradeAt(denseTo)): string {
  const head = (4 * grade + 96 * 0.2) / 100;
  return [
    "kind,stream,sample,item,value,error,unit",
    `run,,,name,${name},,`,
    "run,,,material,river sand,,",
    "run,,,mineral,cassiterite,,",
    "mass,feed,,dry,100,1,kg",
    "mass,dense,,dry,4,0.04,kg",
    "mass,light,,dry,96,1,kg",
    `assay,feed,,Sn,${head},${0.02 * head},%`,
    `assay,dense,,Sn,${grade},${0.01 * grade},%`,
    "assay,light,,Sn,0.2,0.01,%",
  ].join("\n");
}
