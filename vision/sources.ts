import type { Hint } from "./contract/index.ts";

export type Basis = Hint["basis"][number];

const TABLE_BOOK = "Wills, Mineral Processing Technology";

/** What the rules lean on. A work cited from memory was not opened again when its rule was written. */
export const SOURCES = {
  minimumWater: {
    source:
      "Manser, Barley & Wills, 1991, abstract: a least water flow and a best slope exist for each material on a shaking table",
    kind: "published",
  },
  bandWidth: {
    source: "Manser, Barley & Wills, 1991, abstract: a band widens as its share of the feed grows",
    kind: "published",
  },
  overlap: {
    source: "Liddell, 1922, p. 333-334: cut the dense product inside its clean band; middling takes the overlap",
    kind: "published",
  },
  washWater: { source: `${TABLE_BOOK}; Burt, 1984: more wash water moves the bands down`, kind: "from memory" },
  slope: { source: `${TABLE_BOOK}; Taggart, 1945: a steeper cross slope moves the bands down`, kind: "from memory" },
  bandsHighOrLow: {
    source: "Taggart, 1945: correct bands that lie too high or too low by the water first, then the slope",
    kind: "from memory",
  },
  riffleTaper: {
    source: `${TABLE_BOOK}: water runs in streaks when the deck is twisted or its end is set below the riffle taper`,
    kind: "from memory",
  },
  dryByPipe: {
    source: "Dry deck below the wash pipe: clear its holes and level it before adding water",
    kind: "common practice",
  },
  order: {
    source: "Order of adjustment: feed, level, wash water, cross slope, splitters; one change at a time",
    kind: "common practice",
  },
  leastWrongSide: {
    source: "Place that leaves the least length of both bands on the wrong side, from this photo's outlet",
    kind: "computed",
  },
  setPoints: {
    source: "The deck file's set points beside the settings file",
    kind: "computed",
  },
  photo: {
    source: "The light and the place of the photo are checked before the table is changed",
    kind: "common practice",
  },
} as const satisfies Record<string, Basis>;
