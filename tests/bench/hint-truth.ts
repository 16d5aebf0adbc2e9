import { measure } from "../../vision/analyse.ts";
import type { Hint, Reading } from "../../vision/contract/index.ts";
import { gridOf, type OpenCv, viewFromCorners } from "../../vision/index.ts";
import { makeReading } from "../../vision/reading.ts";
import type { Classes } from "../../vision/stages.ts";
import type { Case } from "./cases.ts";

/** The reading that a photo's true classes give, by the steps that read what was seen; every cell is sure. No advice yet. */
export function trueReading(cv: OpenCv, { name, deck, corners, photo, truth }: Case): Reading {
  const grid = gridOf(deck);
  const view = viewFromCorners(cv, photo, deck, corners);
  const cells = truth.length;
  const evidence = new Float32Array(5 * cells);
  truth.forEach((k, i) => {
    if (k > 0) evidence[(k - 1) * cells + i] = 1;
  });
  const classes: Classes = {
    grid,
    labels: truth,
    confidence: truth.map((k) => (k > 0 ? 255 : 0)),
    evidenceGrid: grid,
    evidence,
  };
  return makeReading({
    source: { name, sha256: "0".repeat(64), takenAt: null },
    photo,
    deck,
    view,
    even: { glareShare: 0 },
    classes,
    pxPerMm: 1,
    ...measure(cv, classes, deck, view),
  });
}

/**
 * `same`: the first hints are one, amount aside. `later`: what is told first is told by the truth too, but not first. `like`: both tell of
 * a film that is broken, but answer it unlike. `asks`: another photo is asked for. `other`: what is told the truth does not tell at all.
 */
export type Agreement = "same" | "later" | "like" | "asks" | "other";
/** A hint at least this sure is followed without a second look (judgement). */
export const SURE_HINT = 0.7;

/** How the first hint of a reading stands beside the hints that the truth gives. */
export function agreementOf(read: readonly Hint[], truth: readonly Hint[]): { how: Agreement; wrongAndSure: boolean } {
  const [first] = read as [Hint, ...Hint[]];
  const alike = (a: Hint, b: Hint) => a.control === b.control && a.target === b.target && a.direction === b.direction;
  const dry = ({ evidence }: Hint) => "dryShare" in evidence;
  const how: Agreement = alike(first, truth[0]!)
    ? "same"
    : truth.some((hint) => alike(hint, first))
      ? "later"
      : dry(first) && truth.some(dry)
        ? "like"
        : first.control === "inspect" && first.target === "photo"
          ? "asks"
          : "other";
  return { how, wrongAndSure: how === "other" && first.confidence >= SURE_HINT };
}
