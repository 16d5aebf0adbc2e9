import { placeForAim } from "./aim.ts";
import type { AimFile, Hint, Product, Reading } from "./contract/index.ts";
import { type Pair, pathLength } from "./geometry.ts";
import { normalBelow } from "./products.ts";
import { type Standing, standings } from "./set-points.ts";
import { SOURCES } from "./sources.ts";
import type { Deck, Notes } from "./stages.ts";

/** What a rule may look at. Rules see a reading, never pixels. */
interface Case {
  readonly reading: Reading;
  readonly deck: Deck;
  readonly notes: Notes;
}
type Rule = (seen: Case) => Hint[];
type Span = readonly [from: number, to: number];

// Limits without a publication behind them are judgement: large enough that a photo's noise does not trip them.
/** A patch, rill or band less sure than this is not acted on. */
const SURE = 0.5;
/** Least dry patch worth a change: a 20 mm disc is the least the classes can show. */
const DRY_MM2 = 400;
/** A dry patch with its upper edge within this share of the deck's width from the wash pipe is "by the pipe". */
const BY_PIPE_SHARE = 0.15;
/** Solids on less than this share of the deck that was seen: little or no feed. */
const LITTLE_SOLIDS = 0.03;
/** More of the dense band than this past its launder: the bands lie too low. */
const DENSE_PAST = 0.5;
/** More of a band than this over the wrong side of the deck: the bands lie too low or too high. */
const WRONG_SIDE = 0.1;
/** A difference counts from this many standard errors. */
const ERRORS = 2;
/** More of the outlet hidden than this: nothing can be said of the products. */
const OUTLET_HIDDEN = 0.5;
/** How far a settings file is believed: it was typed in by hand, and a control may have been moved since. */
const SETTINGS_BELIEVED = 0.8;

const HANDS_CLEAR = "Keep hands clear of the moving deck and leave the guards on.";
const LOCK_OUT = `${HANDS_CLEAR} Stop and lock out the drive before reaching near it.`;
const WATER_CARE = `${LOCK_OUT} Keep water off the electrics.`;
const LEVEL_CARE =
  "Stop and lock out the drive first. Levering a deck: two people, hands clear of the legs. Leave the guards on.";
const PHOTO_CARE = "Do not lean over the drive to take the photo.";

/** The rules for a usable reading, in the trade's order: water on the whole deck, feed, level, wash water, splitters. */
const RULES: readonly Rule[] = [
  outletHidden,
  dryPatch,
  littleSolids,
  rills,
  bandsTooLow,
  bandsTooHigh,
  offSetPoint,
  splittersOff,
];

/**
 * What to change next, best first; do one, then look again. Never empty: `none` says leave it as it is.
 *
 * No hint on water, feed or level when the deck is stopped, and never two hints that pull one control both ways.
 */
export function advise(reading: Reading, deck: Deck, notes: Notes): Hint[] {
  if (!reading.quality.usable) return [anotherPhoto(reading)];
  const seen: Case = { reading, deck, notes };
  const hints: Hint[] = [];
  for (const hint of RULES.flatMap((rule) => rule(seen))) {
    const taken = hints.some((h) => h.control === hint.control && h.target === hint.target);
    const other = hint.direction === "lower" ? ["raise", "hold"] : ["lower"];
    const waterBothWays = isWater(hint) && hints.some((h) => isWater(h) && other.includes(h.direction));
    if (!taken && !waterBothWays) hints.push(hint);
  }
  return hints.length > 0 ? hints : [leaveIt(seen)];
}

const isWater = ({ control }: Hint) => control === "washWater" || control === "crossSlope" || control === "washPipe";

function anotherPhoto({ quality }: Reading): Hint {
  const reasons = quality.issues.map((issue) => issue.say);
  return {
    ...hold("inspect", "photo"),
    because: reasons.length > 0 ? reasons : ["The photo cannot be read."],
    evidence: {},
    expect: "A new photo that shows the whole deck can be read.",
    lookAgainMinutes: 1,
    caution: PHOTO_CARE,
    basis: [SOURCES.photo],
    confidence: 1,
  };
}

function outletHidden({ reading, deck }: Case): Hint[] {
  const hidden = total(reading.outletUnseenMm) / outletLength(deck);
  if (hidden <= OUTLET_HIDDEN) return [];
  return [
    {
      ...hold("inspect", "photo"),
      because: [`${percent(hidden)} of the edge where product leaves the deck is hidden in the photo.`],
      evidence: { outletHiddenShare: rounded(hidden) },
      expect: "A photo that shows the edge where product leaves, free of hands, tools and glare.",
      lookAgainMinutes: 1,
      caution: PHOTO_CARE,
      basis: [SOURCES.photo],
      confidence: share(hidden),
    },
  ];
}

/** S1 and S2: the water film has broken. */
function dryPatch(seen: Case): Hint[] {
  const { reading, deck, notes } = seen;
  if (reading.deckState === "stopped") return [];
  const patches = reading.dryPatches.filter((p) => p.confidence >= SURE && p.areaMm2 >= DRY_MM2);
  const patch = patches.toSorted((a, b) => b.areaMm2 - a.areaMm2)[0];
  if (!patch) return [];
  const deckShare = sum(patches.map((p) => p.areaMm2)) / (deck.lengthMm * deck.widthMm);
  const dry = `A dry patch: the water film has broken on ${percent(deckShare)} of the deck.`;
  const facts = {
    evidence: { dryShare: rounded(deckShare), ...washWaterStands(notes) },
    lookAgainMinutes: 2,
    confidence: patch.confidence,
  };
  if (besidePipe(patch, deck)) {
    return [
      {
        ...hold("washPipe"),
        ...facts,
        because: [dry, "It starts right below the wash pipe, so holes may be blocked or the pipe may not be level."],
        expect: "Water comes evenly from every hole and the patch wets over.",
        caution: WATER_CARE,
        basis: [SOURCES.dryByPipe, SOURCES.minimumWater],
      },
    ];
  }
  if (!deck.file.controls.washWater) {
    return [
      {
        ...hold("inspect", "dry patch"),
        ...facts,
        because: [dry, "The wash water of this deck cannot be set, so look for what keeps the water away."],
        expect: "The cause is found, such as grease, a blocked hole or too steep a slope, and the patch wets over.",
        caution: LOCK_OUT,
        basis: [SOURCES.dryByPipe, SOURCES.minimumWater],
      },
    ];
  }
  return [
    {
      control: "washWater",
      target: null,
      direction: "raise",
      ...waterAmount(seen, "raise"),
      toMm: null,
      ...facts,
      because: [dry],
      expect: "The patch wets over: stop opening then. The bands move down a little.",
      caution: WATER_CARE,
      basis: [SOURCES.minimumWater, SOURCES.washWater],
    },
  ];
}

function littleSolids({ reading }: Case): Hint[] {
  const { cover } = reading;
  if (reading.deckState === "stopped" || !cover) return [];
  const seen = 1 - cover.unseen;
  const solids = seen > 0 ? (cover.dense + cover.middling + cover.light) / seen : 0;
  if (seen <= 0 || solids >= LITTLE_SOLIDS) return [];
  return [
    {
      ...hold("inspect", "feed"),
      because: [`Only ${percent(solids)} of the deck that can be seen carries solids.`],
      evidence: { solidsShare: rounded(solids) },
      expect: "Feed comes on steadily and fans out into bands.",
      lookAgainMinutes: 5,
      caution: LOCK_OUT,
      basis: [SOURCES.order],
      confidence: share(seen * (1 - solids / LITTLE_SOLIDS / 2)),
    },
  ];
}

/** S3: water runs in streaks. */
function rills({ reading }: Case): Hint[] {
  if (reading.deckState === "stopped") return [];
  const sure = reading.rills.filter((rill) => rill.confidence >= SURE);
  if (sure.length === 0) return [];
  const streaks = sure.length === 1 ? "one streak" : `${sure.length} streaks`;
  return [
    {
      ...hold("level"),
      because: [`Water runs in ${streaks} instead of a sheet, so the deck may be twisted or not level.`],
      evidence: { rills: sure.length },
      expect: "Water spreads as one even sheet and the streaks fade.",
      lookAgainMinutes: 5,
      caution: LEVEL_CARE,
      basis: [SOURCES.riffleTaper, SOURCES.order],
      confidence: Math.max(...sure.map((rill) => rill.confidence)),
    },
  ];
}

/** S6: the dense band leaves past its own launder or over the tailings side. */
function bandsTooLow(seen: Case): Hint[] {
  const { reading, deck, notes } = seen;
  if (reading.deckState === "stopped") return [];
  const dense = sureSpans(reading, "dense");
  const length = total(dense.spans);
  if (length === 0) return [];
  const launders = laundersOf(deck, "dense");
  const limit = Math.max(sideStart(deck), ...launders.map((l) => l[1]));
  const past = launders.length > 0 ? 1 - overlaps(dense.spans, launders) / length : 0;
  const over = overlaps(dense.spans, [[limit, Infinity]]) / length;
  // What lies within the edges' doubt does not count.
  const doubt = Math.min(1, (ERRORS * dense.errorMm) / length);
  const before = launders.length > 0 && dense.middle < launders[0]![0];
  if (before || (past - doubt <= DENSE_PAST && over - doubt <= WRONG_SIDE)) return [];
  const because =
    over - doubt > WRONG_SIDE
      ? `${percent(over)} of the dense band leaves over the tailings side.`
      : `${percent(past)} of the dense band leaves past its own launder.`;
  return waterHint(seen, {
    direction: "lower",
    because: [because, "The bands lie too low: there may be too much water for this slope."],
    evidence: { densePastShare: rounded(past), denseOnTailingsSideShare: rounded(over), ...washWaterStands(notes) },
    expect: "The bands move up and the dense band comes back to its launder.",
    confidence: share(dense.confidence),
  });
}

/** S5: the light band reaches the dense product. */
function bandsTooHigh(seen: Case): Hint[] {
  const { reading, deck, notes } = seen;
  if (reading.deckState === "stopped") return [];
  const light = sureSpans(reading, "light");
  const length = total(light.spans);
  if (length === 0) return [];
  const launders = laundersOf(deck, "dense");
  // Light that moving the splitter would keep out is the splitter's fault, not the water's.
  const places = reading.splitters.flatMap(({ atMm, suggestedMm }) =>
    suggestedMm !== null && launders.some(([, to]) => Math.abs(to - atMm) < 1) ? [suggestedMm] : [],
  );
  const top = Math.min(
    ...(launders.length > 0 ? launders.map((l) => l[1]) : [WRONG_SIDE * outletLength(deck)]),
    ...places,
  );
  const reached = overlaps(light.spans, [[0, top]]) - ERRORS * light.errorMm;
  const across = Math.max(reached / length, top > 0 ? reached / top : 0);
  if (reached <= 0 || across <= WRONG_SIDE) return [];
  return waterHint(seen, {
    direction: "raise",
    because: [
      `The light band reaches ${percent(reached / top)} of the stretch where the dense product leaves.`,
      "The bands lie too high: there may be too little water.",
    ],
    evidence: { lightOnDenseEndShare: rounded(reached / top), ...washWaterStands(notes) },
    expect: "The bands move down and the light band clears the dense product.",
    confidence: share(light.confidence),
  });
}

/** Wash water first, then the slope; what cannot be set is not suggested. */
function waterHint(
  seen: Case,
  facts: Pick<Hint, "direction" | "because" | "evidence" | "expect" | "confidence"> & { direction: "raise" | "lower" },
): Hint[] {
  const { deck, notes } = seen;
  const { controls } = deck.file;
  const shut = facts.direction === "lower" && notes.settings?.washWaterLitresPerMinute === 0;
  const spent = shut ? "The wash water is shut already." : waterSpent(seen, facts.direction);
  if (controls.washWater && (!spent || (!shut && !controls.crossSlope))) {
    return [
      {
        control: "washWater",
        target: null,
        ...facts,
        ...waterAmount(seen, facts.direction),
        toMm: null,
        lookAgainMinutes: 5,
        caution: WATER_CARE,
        basis: [SOURCES.bandsHighOrLow, SOURCES.washWater],
      },
    ];
  }
  if (!controls.crossSlope) return [];
  return [
    {
      control: "crossSlope",
      target: null,
      ...facts,
      because: [...facts.because, spent ?? "The wash water of this deck cannot be set."],
      amount: null,
      toMm: null,
      lookAgainMinutes: 5,
      caution: LEVEL_CARE,
      basis: [SOURCES.bandsHighOrLow, SOURCES.slope],
    },
  ];
}

const waterStanding = (seen: Case): Standing | undefined =>
  standings(seen.deck, seen.notes).find(({ control }) => control === "washWater");

/** A photo does not show the flow: an amount is known only where the settings file says the water is off its set points. */
function waterAmount(seen: Case, direction: "raise" | "lower"): Pick<Hint, "amount"> {
  const off = waterStanding(seen)?.off ?? 0;
  const agrees = direction === "raise" ? off > 0 : off < 0;
  return { amount: agrees ? { value: mm1(Math.abs(off)), unit: "L/min" } : null };
}

/** Words for water that stands at the end of its set points: the slope must do the rest, or the next hint would undo this. */
function waterSpent(seen: Case, direction: "raise" | "lower"): string | null {
  const water = waterStanding(seen);
  if (!water) return null;
  if (direction === "raise" && water.at >= water.most) return "The water is at its highest set point already.";
  if (direction === "lower" && water.at <= water.least) return "The water is at its lowest set point already.";
  return null;
}

/** What the settings file says stands off the deck file's set points, the furthest off first. */
function offSetPoint({ reading, deck, notes }: Case): Hint[] {
  if (reading.deckState === "stopped") return [];
  const span = ({ least, most, unit }: Standing) =>
    least === most ? `${mm1(least)} ${unit}` : `${mm1(least)} to ${mm1(most)} ${unit}`;
  return standings(deck, notes)
    .filter(({ control, off }) => off !== 0 && deck.file.controls[control])
    .toSorted((a, b) => Math.abs(b.off / (b.most || 1)) - Math.abs(a.off / (a.most || 1)))
    .map((standing): Hint => {
      const { control, unit, at, off } = standing;
      const words = SET_POINT_WORDS[control];
      return {
        control,
        target: null,
        direction: off > 0 ? "raise" : "lower",
        amount: { value: mm1(Math.abs(off)), unit },
        toMm: null,
        because: [
          `${words.what} ${mm1(at)} ${unit} by the settings file; the deck file's set point is ${span(standing)}.`,
        ],
        evidence: { at: mm1(at), setPointLeast: mm1(standing.least), setPointMost: mm1(standing.most) },
        expect: off > 0 ? words.raised : words.lowered,
        lookAgainMinutes: 5,
        caution: control === "washWater" ? WATER_CARE : LEVEL_CARE,
        basis: [SOURCES.setPoints, control === "washWater" ? SOURCES.washWater : SOURCES.order],
        confidence: SETTINGS_BELIEVED,
      };
    });
}
const SET_POINT_WORDS = {
  washWater: {
    what: "The water stands at",
    raised: "The bands move down a little, with water over the whole deck.",
    lowered: "The bands move up a little, with water still over the whole deck.",
  },
  crossSlope: {
    what: "The cross slope stands at",
    raised: "The bands move down a little, with water over the whole deck.",
    lowered: "The bands move up a little, with water over the whole deck.",
  },
  endSlope: {
    what: "The end slope stands at",
    raised: "The dense band runs as it does at the set point.",
    lowered: "The dense band runs as it does at the set point.",
  },
} as const;

/** A splitter further off its boundary than the photo's doubt and its own step; the surest first. */
function splittersOff({ reading, deck, notes }: Case): Hint[] {
  if (!deck.file.controls.splitters) return [];
  const sureness = share(bandConfidence(reading));
  return reading.splitters
    .flatMap(({ name, atMm, suggestedMm: evenMm, errorMm }): { off: number; hint: Hint }[] => {
      const own = deck.splitters.find((s) => s.name === name);
      if (evenMm === null || errorMm === null || !own?.movable) return [];
      const aimed = notes.aim ? placeForAim(reading, deck, own, notes.aim) : null;
      const suggestedMm = aimed?.atMm ?? evenMm;
      const off = Math.abs(suggestedMm - atMm);
      if (off <= ERRORS * errorMm || off <= (own.stepMm ?? 0)) return [];
      const direction = suggestedMm > atMm ? "raise" : "lower";
      const [first, second] = own.between;
      const known = reading.scale === "deck file";
      const ofOutlet = (mm: number) => Math.round((1000 * mm) / outletLength(deck)) / 10;
      const place = (mm: number) => (known ? `${mm1(mm)} mm` : `${ofOutlet(mm)} % of the outlet`);
      const hint: Hint = {
        control: "splitter",
        target: name,
        direction,
        amount: known ? { value: mm1(off), unit: "mm" } : { value: ofOutlet(off), unit: "%" },
        toMm: known ? mm1(suggestedMm) : null,
        because: [
          `The ${first} and ${second} bands divide at ${place(evenMm)}; splitter '${name}' stands at ${place(atMm)}.`,
          ...(aimed?.atMm === null ? [`No place of it gives ${sayAim(notes.aim!)}.`] : []),
          ...(suggestedMm !== evenMm
            ? [`At ${place(suggestedMm)} it gives ${sayAim(notes.aim!)}, as you aim for.`]
            : []),
        ],
        evidence: known
          ? { atMm: mm1(atMm), suggestedMm: mm1(suggestedMm), errorMm: mm1(errorMm) }
          : { atPercent: ofOutlet(atMm), suggestedPercent: ofOutlet(suggestedMm), errorPercent: ofOutlet(errorMm) },
        expect:
          suggestedMm === evenMm
            ? `The ${direction === "raise" ? first : second} band falls wholly on its own side of the splitter.`
            : `The dense launder carries ${sayAim(notes.aim!)}.`,
        lookAgainMinutes: 5,
        caution: LOCK_OUT,
        basis: [SOURCES.leastWrongSide, SOURCES.overlap, SOURCES.bandWidth],
        confidence: share(sureness * (errorMm > 0 ? normalBelow(off / errorMm) : 1)),
      };
      return [{ off, hint }];
    })
    .toSorted((a, b) => b.off - a.off)
    .map(({ hint }) => hint);
}

/** What the person wants of the dense launder; shares of outlet length, which a photo shows, not of mass. */
function sayAim({ densePurity = 0, denseRecovery = 0 }: AimFile): string {
  const wants = [
    ...(densePurity > 0 ? [`at least ${percent(densePurity)} dense, by width`] : []),
    ...(denseRecovery > 0 ? [`at least ${percent(denseRecovery)} of the dense band`] : []),
  ];
  return wants.join(" and ");
}

function leaveIt({ reading, deck }: Case): Hint {
  const stopped = reading.deckState === "stopped";
  const judged = reading.splitters.filter((s) => s.suggestedMm !== null && s.errorMm !== null).length;
  const hidden = Math.min(1, total(reading.outletUnseenMm) / outletLength(deck));
  const because = [
    judged > 0
      ? "Each splitter that can be judged stands within the photo's doubt of where its bands divide."
      : "Nothing in the photo calls for a change; no splitter could be judged.",
  ];
  if (stopped) because.push("The deck is stopped, so its water was not judged.");
  return {
    ...hold("none"),
    because,
    evidence: { splittersJudged: judged, outletSeenShare: rounded(1 - hidden) },
    expect: "The bands stay where they are.",
    lookAgainMinutes: 30,
    caution: null,
    basis: [SOURCES.order],
    confidence: share(bandConfidence(reading) * (1 - hidden)),
  };
}

const hold = (control: Hint["control"], target: string | null = null) =>
  ({ control, target, direction: "hold", amount: null, toMm: null }) as const;

function washWaterStands({ settings }: Notes): { washWaterLitresPerMinute?: number } {
  const stands = settings?.washWaterLitresPerMinute;
  return stands === undefined ? {} : { washWaterLitresPerMinute: stands };
}

/** The patch's nearest point lies close to the wash pipe, or to the high side where the deck file names no pipe. */
function besidePipe({ outline, centre }: Reading["dryPatches"][number], deck: Deck): boolean {
  const near = BY_PIPE_SHARE * deck.widthMm;
  const points = outline.length > 0 ? outline : [centre];
  const pipes: readonly (readonly Pair[])[] = deck.file.washPipes ?? [
    deck.outline.slice(0, 2).map(({ x, y }): Pair => [x, y]),
  ];
  return pipes.some((pipe) =>
    pipe.slice(1).some((end, i) => points.some((p) => distanceToLine(p, pipe[i]!, end) <= near)),
  );
}

function distanceToLine([x, y]: Pair, [ax, ay]: Pair, [bx, by]: Pair): number {
  const [dx, dy] = [bx - ax, by - ay];
  const t = Math.min(1, Math.max(0, ((x - ax) * dx + (y - ay) * dy) / (dx * dx + dy * dy || 1)));
  return Math.hypot(x - ax - t * dx, y - ay - t * dy);
}

/** Where one product leaves, the middle of that, its poorest edge error and how sure its bands are. */
function sureSpans(reading: Reading, product: Product) {
  const bands = reading.bands.filter((band) => band.kind === product && band.confidence >= SURE);
  const edges = bands.flatMap((band) => band.outlet);
  const spans = edges.map((e): Span => [e.fromMm, e.toMm]);
  const length = total(spans);
  const middle = length > 0 ? sum(spans.map(([a, b]) => ((a + b) / 2) * (b - a))) / length : 0;
  const errorMm = Math.max(0, ...edges.flatMap((e) => [e.fromErrorMm ?? 0, e.toErrorMm ?? 0]));
  return { spans, middle, errorMm, confidence: Math.min(1, ...bands.map((b) => b.confidence)) };
}

/** Stretches of the outlet that take this product; none of dense where the deck has no splitter. */
const laundersOf = (deck: Deck, product: Product): Span[] =>
  deck.launders.filter((l) => l.product === product).map((l) => [l.fromMm, l.toMm]);

/** Outlet mm where the tailings side begins: the first corner of the path after which it runs along the riffles. */
function sideStart({ outletPath }: Deck): number {
  let along = 0;
  for (let i = 1; i < outletPath.length; i++) {
    const [a, b] = [outletPath[i - 1]!, outletPath[i]!];
    if (Math.abs(b.x - a.x) > Math.abs(b.y - a.y)) return along;
    along += Math.hypot(b.x - a.x, b.y - a.y);
  }
  return along;
}

const outletLength = (deck: Deck) => pathLength(deck.outletPath.map(({ x, y }): Pair => [x, y]));
const bandConfidence = ({ bands }: Reading) =>
  bands.length > 0 ? Math.min(...bands.filter((b) => b.outlet.length > 0).map((b) => b.confidence), 1) : 0;
const overlaps = (spans: readonly Span[], others: readonly Span[]) =>
  sum(spans.flatMap((s) => others.map((o) => Math.max(0, Math.min(s[1], o[1]) - Math.max(s[0], o[0])))));
const total = (spans: readonly Span[]) => sum(spans.map(([from, to]) => to - from));
const sum = (numbers: readonly number[]) => numbers.reduce((all, n) => all + n, 0);
const share = (value: number) => rounded(Math.min(1, Math.max(0, value)));
const rounded = (value: number) => Math.round(value * 10_000) / 10_000;
const mm1 = (mm: number) => Math.round(mm * 10) / 10;
const percent = (value: number) => (value > 0 && value < 0.01 ? "less than 1 %" : `${Math.round(value * 100)} %`);
