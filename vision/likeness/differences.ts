import type { BandLook, LookDifference } from "../contract/index.ts";

/** What is not worth a word: shares of the outlet, and of the deck. */
const LEAST_EDGE = 0.02;
const LEAST_COVER = 0.03;
const LEAST_DRY = 0.005;

/**
 * How a look differs from a reference's, what differs most first: 'your dense band lies 60 mm lower'.
 *
 * @param outletMm  Of the deck in question: its places in mm are shares of this.
 */
export function lookDifferences(mine: BandLook, reference: BandLook, outletMm: number, most = 4): LookDifference[] {
  const found: { weight: number; said: LookDifference }[] = [];
  for (const band of ["dense", "middling", "light"] as const) {
    const [here, there] = [mine.bands[band], reference.bands[band]];
    if (!here !== !there) found.push({ weight: 0.6, said: { name: "band", band, here: here !== null } });
    if (!here || !there) continue;
    for (const edge of ["from", "to"] as const) {
      const apart = here[edge] - there[edge];
      const share = Math.abs(apart);
      if (share < LEAST_EDGE) continue;
      const mm = Math.round(share * outletMm);
      found.push({
        weight: share,
        said: { name: "edge", band, edge, way: apart > 0 ? "lower" : "higher", mm, share: round(share) },
      });
    }
    if (Math.abs(here.stretches - there.stretches) >= 2)
      found.push({ weight: 0.1, said: { name: "parts", band, here: here.stretches, there: there.stretches } });
  }
  for (const of of ["bare", "dense", "middling", "light", "dry"] as const) {
    const apart = mine.cover[of] - reference.cover[of];
    const share = Math.abs(apart);
    if (share < (of === "dry" ? LEAST_DRY : LEAST_COVER)) continue;
    const weight = of === "dry" ? 5 * share : share / 2;
    found.push({ weight, said: { name: "cover", of, way: apart > 0 ? "more" : "less", share: round(share) } });
  }
  return found
    .sort((a, b) => b.weight - a.weight)
    .slice(0, most)
    .map(({ said }) => said);
}
const round = (share: number) => Math.round(share * 1e4) / 1e4;
