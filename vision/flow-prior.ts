import { type Pair, pathLength, rayToPath } from "./geometry.ts";
import type { Deck, Grid } from "./stages.ts";

/**
 * Where each class can lie on a running deck (common practice): solids fan out from the feed and leave along the outlet
 * path in the order dense, middling, light; bare deck shows above the dense band and at the drive end.
 * Centre and spread of each class as a share of the outlet path, reached by a straight line from the feed.
 */
const PLACES = { dense: [0.14, 0.12], middling: [0.3, 0.14], light: [0.58, 0.2] } as const;

export interface FlowPrior {
  /** Share of the outlet path, 0 to 1, that a straight line from the feed through the cell reaches; `rows × columns`. */
  readonly outletShare: Float32Array;
  /** Log prior of bare, dense, middling, light at each cell, plane by plane; `4 × rows × columns`. */
  readonly logPrior: Float32Array;
  /** 1 where bare deck is expected on nearly any running deck: along the wash water past the feed, and at the drive end. */
  readonly bareSpots: Uint8Array;
}

export function flowPrior(deck: Deck, { mmPerCell, columns, rows }: Grid): FlowPrior {
  const { feed, lengthMm, widthMm } = deck;
  const path = deck.outletPath.map(({ x, y }): Pair => [x, y]);
  const total = pathLength(path);
  const origin: Pair = [(feed.from.x + feed.to.x) / 2, (feed.from.y + feed.to.y) / 2 - 0.12 * widthMm];
  const cells = columns * rows;
  const outletShare = new Float32Array(cells);
  const logPrior = new Float32Array(4 * cells);
  const bareSpots = new Uint8Array(cells);
  for (let row = 0, i = 0; row < rows; row++) {
    for (let column = 0; column < columns; column++, i++) {
      const [x, y] = [(column + 0.5) * mmPerCell, (row + 0.5) * mmPerCell];
      const hit = rayToPath(path, origin, [x, y]);
      const share = hit ? hit.along / total : x > origin[0] ? 0 : 1;
      outletShare[i] = share;
      const edge = share < 0.05 || share > 0.93 ? 0 : -1.3;
      logPrior[i] = edge;
      [PLACES.dense, PLACES.middling, PLACES.light].forEach(([centre, spread], k) => {
        logPrior[(k + 1) * cells + i] = Math.max(-4, -0.5 * ((share - centre) / spread) ** 2);
      });
      const alongWash = x > 0.6 * lengthMm && y < 0.05 * widthMm;
      const driveEnd = x < 0.05 * lengthMm && y > 0.35 * widthMm;
      bareSpots[i] = alongWash || driveEnd ? 1 : 0;
    }
  }
  return { outletShare, logPrior, bareSpots };
}
