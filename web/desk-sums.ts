/** What the review desk is computed with: its only door to `vision/`. Loaded when a desk is opened, never with the page. */
export { describeDeck } from "../vision/deck.ts";
export { invert, project } from "../vision/homography.ts";
export { bend } from "../vision/lens-bulge.ts";
