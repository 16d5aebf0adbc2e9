import type { CLASS_NAMES } from "../vision/contract/index.ts";

/** Class numbers in their colours: unseen, bare, dense, middling, light, dry. */
export const CLASS_COLOURS = [
  [16, 20, 24],
  [120, 120, 120],
  [58, 31, 214],
  [255, 149, 0],
  [189, 246, 255],
  [230, 0, 122],
] as const satisfies readonly (readonly [number, number, number])[] & { length: (typeof CLASS_NAMES)["length"] };
