import type { Hint } from "../contract/index.ts";
import { said, type Text } from "../said.ts";
import { type Basis, SOURCES } from "../sources.ts";
import type { CAUTIONS, Draft } from "./case.ts";
import * as see from "./measures.ts";

/**
 * What is seen on a deck, what it means and what to do about it: one entry a symptom, to be read and extended.
 *
 * A symptom is there when its measure, less its doubt, is above `above`. The first remedy that this deck can do is
 * advised. Limits without a publication behind them are judgement: large enough that a photo's noise does not trip them.
 */
export interface Symptom {
  /** S1 to S12 as in the trade's table of faults; F for further ones. */
  readonly id: string;
  readonly measure: see.Measure;
  readonly above: number;
  /** What the measure and the limit count in. */
  readonly unit: string;
  readonly order: Draft["order"];
  /** Likely cause, in words, after what was seen. */
  readonly cause: Text;
  readonly remedies: readonly Remedy[];
  readonly expect: Text;
  /** Minutes until the bands tell; null: from the residence of the solids. */
  readonly lookAgainMinutes: number | null;
  readonly caution: keyof typeof CAUTIONS;
  readonly basis: readonly Basis[];
  /** The twin judges this better where there is one. */
  readonly twinKnows?: true;
  /** What it measures is a share of the deck that does no work: it counts as what a remedy can gain. */
  readonly costs?: true;
  /** Holds on a stopped deck too. */
  readonly evenStopped?: true;
}
export interface Remedy {
  readonly control: Hint["control"];
  readonly target?: string;
  readonly direction?: "raise" | "lower";
  /** Share of what the control stands at to change it by, where that is known. */
  readonly byShare?: number;
  /** The amount that brings the feed to this per cent solids. */
  readonly toSolidsPercent?: number;
}

const WATER_UP: readonly Remedy[] = [
  { control: "washWater", direction: "raise" },
  { control: "crossSlope", direction: "raise" },
];
const WATER_DOWN: readonly Remedy[] = [
  { control: "washWater", direction: "lower" },
  { control: "crossSlope", direction: "lower" },
];
const HIGH_OR_LOW = [SOURCES.bandsHighOrLow, SOURCES.washWater, SOURCES.slope];

/** In the order they are thought of; `rules.ts` ranks what they find. */
export const SYMPTOMS: readonly Symptom[] = [
  {
    id: "F1 outlet hidden",
    measure: see.outletHidden,
    above: 0.5,
    unit: "share of the outlet",
    order: "photo",
    cause: said("said.cause.outletHidden"),
    remedies: [{ control: "inspect", target: "photo" }],
    expect: said("said.expect.outletShown"),
    lookAgainMinutes: 1,
    caution: "photo",
    basis: [SOURCES.photo],
    evenStopped: true,
  },
  {
    id: "S11 dense band gone",
    measure: see.denseGone,
    above: 0.5,
    unit: "1: gone",
    order: "photo",
    cause: said("said.cause.denseGone"),
    remedies: [{ control: "inspect", target: "photo" }],
    expect: said("said.expect.denseBackOrFeed"),
    lookAgainMinutes: 2,
    caution: "photo",
    basis: [SOURCES.lightChange],
    evenStopped: true,
  },
  {
    id: "S11 told",
    measure: see.byEye("dense band gone, weights the same"),
    above: 0.5,
    unit: "1: told",
    order: "photo",
    cause: said("said.cause.notTheDeck"),
    remedies: [{ control: "inspect", target: "photo" }],
    expect: said("said.expect.denseBack"),
    lookAgainMinutes: 2,
    caution: "photo",
    basis: [SOURCES.lightChange],
  },
  {
    id: "S1 dry by the wash pipe",
    measure: see.dryByPipe,
    above: 0,
    unit: "share of the deck",
    order: "film",
    cause: said("said.cause.dryByPipe"),
    remedies: [{ control: "washPipe" }],
    expect: said("said.expect.pipeEven"),
    lookAgainMinutes: 2,
    caution: "water",
    basis: [SOURCES.dryByPipe, SOURCES.minimumWater],
  },
  {
    id: "S2 dry elsewhere",
    measure: see.dryElsewhere,
    above: 0,
    unit: "share of the deck",
    order: "film",
    cause: said("said.cause.dry"),
    remedies: [
      { control: "washWater", direction: "raise", byShare: 0.25 },
      { control: "crossSlope", direction: "lower", byShare: 0.2 },
      { control: "inspect", target: "dry patch" },
    ],
    expect: said("said.expect.patchWets"),
    lookAgainMinutes: 2,
    caution: "water",
    basis: [SOURCES.minimumWater, SOURCES.washWater, SOURCES.filmBreaks],
    costs: true,
  },
  {
    id: "S7 told",
    measure: see.byEye("feed surges"),
    above: 0.5,
    unit: "1: told",
    order: "feed",
    cause: said("said.cause.surgesTold"),
    remedies: [{ control: "inspect", target: "feed" }],
    expect: said("said.expect.fanStill"),
    lookAgainMinutes: 10,
    caution: "lockOut",
    basis: [SOURCES.steadyFeed, SOURCES.order],
  },
  {
    id: "S7 fan swings",
    measure: see.swing,
    above: 2.5,
    unit: "standard errors",
    order: "feed",
    cause: said("said.cause.surges"),
    remedies: [{ control: "inspect", target: "feed" }],
    expect: said("said.expect.fanStill"),
    lookAgainMinutes: 10,
    caution: "lockOut",
    basis: [SOURCES.steadyFeed, SOURCES.order],
  },
  {
    id: "S8 bands drift",
    measure: see.oneWay,
    above: 4,
    unit: "standard errors",
    order: "feed",
    cause: said("said.cause.drift"),
    remedies: [{ control: "inspect", target: "water valve and level" }],
    expect: said("said.expect.bandsReturn"),
    lookAgainMinutes: 10,
    caution: "water",
    basis: [SOURCES.drift],
  },
  {
    id: "F2 little or no feed",
    measure: see.emptyDeck,
    above: 0.97,
    unit: "share of the deck seen",
    order: "feed",
    cause: said("said.cause.noFeed"),
    remedies: [{ control: "inspect", target: "feed" }],
    expect: said("said.expect.feedOn"),
    lookAgainMinutes: 5,
    caution: "lockOut",
    basis: [SOURCES.order],
  },
  {
    id: "F3 feed too thick",
    measure: see.feedSolids,
    above: 35,
    unit: "% solids by weight",
    order: "feed",
    cause: said("said.cause.feedThick", { most: { value: 35, unit: "%" } }),
    remedies: [
      { control: "feedWater", direction: "raise", toSolidsPercent: 30 },
      { control: "feedSolids", direction: "lower" },
    ],
    expect: said("said.expect.bedThins"),
    lookAgainMinutes: null,
    caution: "water",
    basis: [SOURCES.feedSolids],
  },
  {
    id: "S4 bed stands",
    measure: see.byEye("bed stands in the riffles"),
    above: 0.5,
    unit: "1: told",
    order: "feed",
    cause: said("said.cause.bedStands"),
    remedies: [
      { control: "feedRate", direction: "lower", byShare: 0.2 },
      { control: "feedWater", direction: "raise", byShare: 0.2 },
      { control: "inspect", target: "feed" },
    ],
    expect: said("said.expect.bedTravels"),
    lookAgainMinutes: null,
    caution: "lockOut",
    basis: [SOURCES.sanding],
  },
  {
    id: "F4 feed uneven, told",
    measure: see.byEye("feed uneven along the feed box"),
    above: 0.5,
    unit: "1: told",
    order: "feed",
    cause: said("said.cause.feedUnevenTold"),
    remedies: [{ control: "feedSpread" }],
    expect: said("said.expect.oneFan"),
    lookAgainMinutes: null,
    caution: "lockOut",
    basis: [SOURCES.evenFeed],
  },
  {
    id: "F4 bands in streaks",
    measure: see.stretches,
    above: 3.5,
    unit: "stretches",
    order: "feed",
    cause: said("said.cause.feedUneven"),
    remedies: [{ control: "feedSpread" }],
    expect: said("said.expect.oneFan"),
    lookAgainMinutes: null,
    caution: "lockOut",
    basis: [SOURCES.evenFeed],
  },
  {
    id: "F5 thick with fines",
    measure: see.byEye("water thick with fines"),
    above: 0.5,
    unit: "1: told",
    order: "feed",
    cause: said("said.cause.fines"),
    remedies: [{ control: "inspect", target: "slimes in the feed" }],
    expect: said("said.expect.waterClears"),
    lookAgainMinutes: 30,
    caution: "lockOut",
    basis: [SOURCES.slimes],
  },
  {
    id: "S10 bands merge",
    measure: see.blurGrowth,
    above: 2,
    unit: "times the width before",
    order: "feed",
    cause: said("said.cause.merge"),
    remedies: [{ control: "inspect", target: "screen, riffles and bolts" }],
    expect: said("said.expect.bandsPart"),
    lookAgainMinutes: 60,
    caution: "lockOut",
    basis: [SOURCES.merging],
  },
  {
    id: "S12 froth",
    measure: see.byEye("froth or floating grains"),
    above: 0.5,
    unit: "1: told",
    order: "feed",
    cause: said("said.cause.froth"),
    remedies: [{ control: "inspect", target: "froth" }],
    expect: said("said.expect.grainsSink"),
    lookAgainMinutes: 10,
    caution: "chemicals",
    basis: [SOURCES.froth],
  },
  {
    id: "F6 wash jets land low",
    measure: see.byEye("wash jets land low"),
    above: 0.5,
    unit: "1: told",
    order: "level",
    cause: said("said.cause.jetsLow"),
    remedies: [{ control: "washPipe" }],
    expect: said("said.expect.jetsHighHeap"),
    lookAgainMinutes: 5,
    caution: "water",
    basis: [SOURCES.washJets],
  },
  {
    id: "F6 dense heaps up",
    measure: see.denseHeap,
    above: 0.01,
    unit: "share of the deck",
    order: "level",
    cause: said("said.cause.denseHeap"),
    remedies: [{ control: "washPipe" }],
    expect: said("said.expect.jetsHigh"),
    lookAgainMinutes: 5,
    caution: "water",
    basis: [SOURCES.washJets],
  },
  {
    id: "S3 water in streaks",
    measure: see.rillCount,
    above: 0,
    unit: "streaks",
    order: "level",
    cause: said("said.cause.rills"),
    remedies: [{ control: "level" }],
    expect: said("said.expect.evenSheet"),
    lookAgainMinutes: 5,
    caution: "level",
    basis: [SOURCES.riffleTaper, SOURCES.order],
  },
  {
    id: "S6 dense past its launder",
    measure: see.densePast,
    above: 0.5,
    unit: "share of the dense band",
    order: "water",
    cause: said("said.cause.tooLow"),
    remedies: WATER_DOWN,
    expect: said("said.expect.denseToLaunder"),
    lookAgainMinutes: null,
    caution: "water",
    basis: HIGH_OR_LOW,
    twinKnows: true,
  },
  {
    id: "S6 dense over the low side",
    measure: see.denseOverLowSide,
    above: 0.1,
    unit: "share of the dense band",
    order: "water",
    cause: said("said.cause.tooLow"),
    remedies: WATER_DOWN,
    expect: said("said.expect.denseToLaunder"),
    lookAgainMinutes: null,
    caution: "water",
    basis: HIGH_OR_LOW,
    twinKnows: true,
  },
  {
    id: "S5 light on the dense end",
    measure: see.lightOnDenseEnd,
    above: 0.1,
    unit: "share of the stretch",
    order: "water",
    cause: said("said.cause.tooHigh"),
    remedies: WATER_UP,
    expect: said("said.expect.lightClears"),
    lookAgainMinutes: null,
    caution: "water",
    basis: HIGH_OR_LOW,
    twinKnows: true,
  },
  {
    id: "F7 middling in the dense launder",
    measure: see.middlingOnDenseEnd,
    above: 0.3,
    unit: "share of the stretch",
    order: "water",
    cause: said("said.cause.middlingHigh"),
    remedies: WATER_UP,
    expect: said("said.expect.middlingClears"),
    lookAgainMinutes: null,
    caution: "water",
    basis: [SOURCES.middlingInDense, SOURCES.washWater],
    twinKnows: true,
  },
  {
    id: "F8 round heavy grains, told",
    measure: see.byEye("round heavy grains roll to the low side"),
    above: 0.5,
    unit: "1: told",
    order: "slope",
    cause: said("said.cause.roundGrains"),
    remedies: [
      { control: "crossSlope", direction: "lower", byShare: 0.1 },
      { control: "washWater", direction: "lower", byShare: 0.1 },
      { control: "inspect", target: "heavy grains on the low side" },
    ],
    expect: said("said.expect.fewerHeavy"),
    lookAgainMinutes: null,
    caution: "level",
    basis: [SOURCES.roundGrains],
  },
  {
    id: "F8 dense strays to the low side",
    measure: see.strayDense,
    above: 0.1,
    unit: "share of the dense band",
    order: "slope",
    cause: said("said.cause.denseStrays"),
    remedies: [{ control: "inspect", target: "heavy grains on the low side" }],
    expect: said("said.expect.strayKnown"),
    lookAgainMinutes: 10,
    caution: "lockOut",
    basis: [SOURCES.roundGrains],
  },
  {
    id: "S9 ragged dense edge",
    measure: see.byEye("fine streaks ahead of the dense edge"),
    above: 0.5,
    unit: "1: told",
    order: "water",
    cause: said("said.cause.fineStreaks"),
    remedies: [
      { control: "speed", direction: "lower", byShare: 0.05 },
      { control: "washWater", direction: "lower", byShare: 0.1 },
      { control: "inspect", target: "slimes in the feed" },
    ],
    expect: said("said.expect.cleanEdge"),
    lookAgainMinutes: null,
    caution: "lockOut",
    basis: [SOURCES.raggedEdge],
  },
  {
    id: "F9 dense launder not filled",
    measure: see.denseLaunderEmpty,
    above: 0.6,
    unit: "share of the launder",
    order: "splitter",
    cause: said("said.cause.denseLaunder"),
    remedies: [
      { control: "feedRate", direction: "raise" },
      { control: "inspect", target: "feed" },
    ],
    expect: said("said.expect.denseWidens"),
    lookAgainMinutes: null,
    caution: "lockOut",
    basis: [SOURCES.bandWidth],
    twinKnows: true,
  },
];
