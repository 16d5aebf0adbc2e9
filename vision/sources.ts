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
  edgeCounts: {
    source: "Narrow cuts along the discharge edge, looked at under a lens, tell what each stretch carries",
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
  twin: {
    source: "Transport model of this deck, fitted to this photo; a first model, for directions more than amounts",
    kind: "computed",
  },
  aim: {
    source: "Place that serves the aim file best, from this photo's bands with their blur and doubt",
    kind: "computed",
  },
  endSlope: {
    source: `${TABLE_BOOK}: raising the dense-product end parts the bands and slows the travel`,
    kind: "from memory",
  },
  stroke: {
    source: "Sivamohan & Forssberg, 1985: a longer or faster stroke carries solids along faster, so bands move up",
    kind: "from memory",
  },
  filmBreaks: {
    source: "Films of about 1.3 mm are thinner than water's capillary length of 2.7 mm, so a dry patch stays dry",
    kind: "computed",
  },
  feedSolids: {
    source: "Manser, Barley & Wills, 1991, abstract: keep the feed below 35 % solids; tried on a laboratory table",
    kind: "published",
  },
  steadyFeed: {
    source: "A fan that swings within minutes: steady the feed before anything else",
    kind: "common practice",
  },
  drift: {
    source: "Slow one-way drift of all bands: restore water and level, then move the splitters",
    kind: "common practice",
  },
  sanding: {
    source: `${TABLE_BOOK}; Burt, 1984: a standing bed wants less feed, more feed water`,
    kind: "from memory",
  },
  evenFeed: { source: "Feed must come on evenly along the whole feed box", kind: "common practice" },
  slimes: {
    source: `${TABLE_BOOK}; Burt, 1984: slimes in the water carry fine dense grains; take them out first`,
    kind: "from memory",
  },
  raggedEdge: { source: "Burt, 1984: fine dense grains are lifted by speed or ripples", kind: "from memory" },
  merging: {
    source: "Bands that merge from one day to the next: look for a torn screen, worn riffles, loose bolts",
    kind: "common practice",
  },
  lightChange: {
    source: "A band that vanishes while weights stay: check light and glare first",
    kind: "common practice",
  },
  froth: { source: "Froth or floating flakes: keep oil out, a drop of wetting agent", kind: "common practice" },
  washJets: { source: "Wash pipe level, holes even, jets landing high on the deck", kind: "common practice" },
  middlingInDense: {
    source: "Liddell, 1922, p. 333-334: middling is kept out of the dense product; it takes the overlap",
    kind: "published",
  },
  roundGrains: { source: "Round heavy grains roll down the deck where flat ones stay", kind: "common practice" },
  photo: {
    source: "The light and the place of the photo are checked before the table is changed",
    kind: "common practice",
  },
} as const satisfies Record<string, Basis>;
