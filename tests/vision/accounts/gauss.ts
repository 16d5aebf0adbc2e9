import type { Random } from "../../../vision/scene/random.ts";

/** Normal draws, mean 0, sd 1. Source: Box & Muller (1958), Ann. Math. Stat. 29, 610 (from memory). */
export const gaussFrom = (random: Random) => () =>
  Math.sqrt(-2 * Math.log(1 - random())) * Math.cos(2 * Math.PI * random());
