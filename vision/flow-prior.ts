import { type Pair, pathLength, rayToPath } from "./geometry.ts";
import type { Deck, Grid } from "./stages.ts";

export interface FlowPrior {
  /** Share of the outlet path, 0 to 1, that a straight line from the feed through the cell reaches; `rows × columns`. */
  readonly outletShare: Float32Array;
  /** How far on its way from the feed to the outlet the cell lies, 0 to 1; `rows × columns`. */
  readonly reach: Float32Array;
  /** 1 where bare deck is expected on nearly any running deck: along the wash water past the feed, and at the drive end. */
  readonly bareSpots: Uint8Array;
}

/**
 * Coordinates of the fan: solids spread from the feed and leave along the outlet path in the order dense, middling, light;
 * bare deck shows above the dense band and at the drive end (common practice).
 */
export function flowPrior(deck: Deck, { mmPerCell, columns, rows }: Grid): FlowPrior {
  const { feed, lengthMm, widthMm } = deck;
  const path = deck.outletPath.map(({ x, y }): Pair => [x, y]);
  const total = pathLength(path);
  const origin: Pair = [(feed.from.x + feed.to.x) / 2, (feed.from.y + feed.to.y) / 2 - 0.12 * widthMm];
  const cells = columns * rows;
  const outletShare = new Float32Array(cells);
  const reach = new Float32Array(cells);
  const bareSpots = new Uint8Array(cells);
  for (let row = 0, i = 0; row < rows; row++) {
    for (let column = 0; column < columns; column++, i++) {
      const [x, y] = [(column + 0.5) * mmPerCell, (row + 0.5) * mmPerCell];
      const hit = rayToPath(path, origin, [x, y]);
      const share = hit ? hit.along / total : x > origin[0] ? 0 : 1;
      outletShare[i] = share;
      reach[i] = hit ? 1 / hit.reach : 1;
      const alongWash = x > 0.6 * lengthMm && y < 0.05 * widthMm;
      const driveEnd = x < 0.05 * lengthMm && y > 0.35 * widthMm;
      bareSpots[i] = alongWash || driveEnd ? 1 : 0;
    }
  }
  return { outletShare, reach, bareSpots };
}
