import type { DeckFile, MoneyCaution, MoneyRefusal, Reading, RunRecord, RunSplitters } from "../contract/index.ts";
import { describeDeck } from "../deck.ts";
import { type Pair, pathLength } from "../geometry.ts";
import type { Measured } from "../process/range.ts";
import { bell, type Random, randomFrom } from "../scene/random.ts";
import type { Deck } from "../stages.ts";
import { isFeed } from "./balances.ts";
import { paidPerTonne, termsOf } from "./buyer.ts";
import { AccountsError } from "./fault.ts";
import { figureOf } from "./gross-errors.ts";
import { bestPlaces, bringOf, type Load, type Pricing } from "./launder-money.ts";
import { dated } from "./likely-cause.ts";
import { type ByClass, type Doubt, fallOf, type Held, type Mix, type PhotoAt, unmix } from "./outlet-model.ts";
import { accountFor, mainMetal, type RunAccounts } from "./run-accounts.ts";
import { UsualErrors } from "./run-figures.ts";
import { moneyOf, type WonShares } from "./run-middling.ts";

/** A usable reading of a run's photo, with when it was taken, as text that sorts by time. */
export interface SplitterPhoto {
  readonly at: string;
  readonly reading: Reading;
}

/** Draws of all that is uncertain: that the best places are sought over, and that the gain is told by. */
const SEARCH_DRAWS = 24;
const GAIN_DRAWS = 400;
const PLACE_DRAWS = 40;
/** Places of one splitter that are tried, over all draws and in each. */
const MOST_PLACES = 100;
const FEW_PLACES = 50;
/** Usual step of a splitter, mm. */
const STEP_MM = 5;
/** Fewer photos say little of how the bands wander. */
const FEW_PHOTOS = 5;
/** Standard errors that a product may lie from what the model makes of it. */
const OFF = 3;
/** Tails are known to this factor, one sd of the logarithm (judgement). */
const TAILS_LOG_SD = 0.5;

/**
 * Where a run's splitters bring most money, and how much more than where they stand.
 *
 * The photos say where each class leaves, the balance how much of it there is and what it holds, the prices what that
 * brings. Places are those of the greatest mean over what is uncertain; the gain is the mean of fresh draws, with its
 * interval: edges, how photos differ, tails beyond the edges, masses, assays, prices, kind of middling.
 *
 * It takes the bands as they are: that more middling run again crowds the table is not in it.
 *
 * @param file    Of the deck that the photos are of.
 * @param photos  In order of time. Not modified.
 */
export function splittersOfRun(run: RunRecord, file: DeckFile | null, photos: readonly SplitterPhoto[]): RunSplitters {
  const found = caseOf(run, file, photos);
  if (typeof found === "string") return refused(found);
  const { deck, seen, names, metal, outletMm, usable } = found;
  const random = randomFrom(1);
  const likeliest = stateOf(found, null);
  if (!likeliest) return refused("not-parted", metal);
  const draws = (count: number) => {
    const all: State[] = [];
    for (let tries = 0; all.length < count && tries < 3 * count; tries++) {
      const state = stateOf(found, random);
      if (state) all.push(state);
    }
    return all;
  };
  const now = seen.at(-1)!.cutsMm;
  const places = (most: number) => placesOf(deck, now, outletMm, most);
  const search = draws(SEARCH_DRAWS);
  const wide = places(MOST_PLACES);
  const best = bestPlaces(wide, now, outletMm, meanWorth(search, found, wide)) ?? [...now];
  const gains = draws(GAIN_DRAWS)
    .map((state) => moneyAt(state, found, best) - moneyAt(state, found, now))
    .toSorted((a, b) => a - b);
  const narrow = places(FEW_PLACES);
  const each = draws(PLACE_DRAWS).map((state) => bestPlaces(narrow, now, outletMm, meanWorth([state], found, narrow)));
  const spread = deck.splitters.map((_, i) => each.map((cuts) => cuts?.[i] ?? best[i]!).toSorted((a, b) => a - b));
  const perTonne = intervalOf(gains);
  const day = perDay(run, found.accounts, found.usual);
  const [before, after] = [now, best].map((cuts) => takenAt(likeliest, found, cuts)) as [Told[], Told[]];
  const middling = usable.indexOf("middling");
  const dense = usable.indexOf("dense");
  const moved = best.some((mm, i) => Math.abs(mm - now[i]!) > 1e-9);
  return {
    refusal: null,
    metal,
    splitters: deck.splitters.map(({ name, movable }, i) => ({
      name,
      movable: movable && deck.file.controls.splitters,
      nowMm: now[i]!,
      bestMm: best[i]!,
      fromMm: Math.min(best[i]!, at(spread[i]!, 0.025)),
      toMm: Math.max(best[i]!, at(spread[i]!, 0.975)),
    })),
    launders: names.map((launder, i) => ({
      launder,
      product: usable[i]!,
      now: before[i]!.taken,
      best: after[i]!.taken,
    })),
    gain: {
      perTonneFeed: perTonne,
      perDay: day.tonnes === null ? null : scaled(gains, day.tonnes, random),
      chance: gains.filter((gain) => gain > 0).length / gains.length,
      sure: moved && perTonne.from > 0,
    },
    middling:
      middling < 0 ? null : { now: before[middling]!.way ?? "discard", best: after[middling]!.way ?? "discard" },
    denseTonne: dense < 0 ? null : { now: before[dense]!.perTonne, best: after[dense]!.perTonne },
    restsOn: restsOn(run, found),
    cautions: cautionsOf(run, found, likeliest.mix, day.caution),
  };
}

function refused(refusal: MoneyRefusal, metal = ""): RunSplitters {
  const nothing = { splitters: [], launders: [], gain: null, middling: null, denseTonne: null, cautions: [] };
  return { refusal, metal, ...nothing, restsOn: { photos: 0, products: 0, assays: 0, checks: 0, grains: 0 } };
}

/** All that does not change from draw to draw. */
interface SplitterCase {
  readonly run: RunRecord;
  readonly accounts: RunAccounts;
  readonly metal: string;
  readonly deck: Deck;
  readonly outletMm: number;
  readonly seen: readonly PhotoAt[];
  /** Launders by name, with what each is meant to take. */
  readonly names: readonly string[];
  readonly usable: readonly ("dense" | "middling" | "light")[];
  /** Products of the run, for a tonne of feed, and which of them each launder feeds. */
  readonly held: readonly Held[];
  readonly productOf: readonly number[];
  readonly won: WonShares;
  readonly usual: UsualErrors;
}

function caseOf(run: RunRecord, file: DeckFile | null, photos: readonly SplitterPhoto[]): SplitterCase | MoneyRefusal {
  if (!run.prices.metal) return "no-price";
  if (!file || file.splitters.length === 0 || file.splitters.length > 5) return "no-splitter";
  const deck = describeDeck(file);
  if (!deck.file.controls.splitters || !deck.splitters.some(({ movable }) => movable)) return "no-splitter";
  if (deck.launders.length !== deck.splitters.length + 1) return "no-splitter";
  const outletMm = pathLength(deck.outletPath.map(({ x, y }): Pair => [x, y]));
  const shown = photos.filter(
    ({ reading }) => reading.scale === "deck file" && reading.bands.some((b) => b.outlet.length > 0),
  );
  if (shown.length === 0) return "no-photo";
  const accounts = accountsOf(run);
  const metal = accounts && mainMetal(run);
  if (!accounts || metal === null) return "no-balance";
  if (!accounts.judged.fits) return "misfit";
  const streams = deck.launders.map(({ name, product }) => streamFor(run, name, product));
  if (streams.some((stream) => stream === null)) return "too-few-products";
  const products = [...new Set(streams as string[])];
  const held = heldIn(run, accounts, products, metal);
  if (!held) return "no-balance";
  const usual = new UsualErrors();
  return {
    run,
    accounts,
    metal,
    deck,
    outletMm,
    seen: shown.map(({ at: when, reading }) => ({ reading, cutsMm: cutsAt(run, deck, when) })),
    names: deck.launders.map(({ name }) => name),
    usable: deck.launders.map(({ product }) => product),
    held,
    productOf: streams.map((stream) => products.indexOf(stream!)),
    won: moneyOf(run.prices, usual).won,
    usual,
  };
}

function accountsOf(run: RunRecord): RunAccounts | null {
  try {
    return accountFor(run);
  } catch (error) {
    if (error instanceof AccountsError) return null;
    throw error;
  }
}

const alike = (a: string, b: string) => a.trim().toLowerCase() === b.trim().toLowerCase();
/** The stream that bears the launder's name, else the only one of its product. */
function streamFor({ streams }: RunRecord, launder: string, product: string): string | null {
  const sole = streams.filter((stream) => stream.product === product);
  const named = streams.find(({ name }) => alike(name, launder));
  return (named ?? (sole.length === 1 ? sole[0] : undefined))?.name ?? null;
}

/** Masses of products for one of feed, and of what was assayed in them; null where the balance does not tell them. */
function heldIn(run: RunRecord, { judged }: RunAccounts, products: readonly string[], metal: string): Held[] | null {
  const balance = judged.after;
  const feeds = balance.streams.filter(isFeed).map(({ name }) => name);
  const assays = [metal, ...Object.keys(run.penalties)].filter((name) =>
    products.every((product) => figureOf(balance, product, name).value !== null),
  );
  if (!assays.includes(metal)) return null;
  type Read = Parameters<Parameters<typeof balance.derive>[0]>[0];
  const ofFeed = (read: Read, of: number) => of / feeds.reduce((sum, feed) => sum + read(feed, null), 0);
  const held = products.map((product) => {
    const mass = balance.derive((read) => ofFeed(read, read(product, null)));
    const each = assays.map((name) => {
      const amount = balance.derive((read) => ofFeed(read, (read(product, null) * read(product, name)) / 100));
      return [name, amount] as const;
    });
    if (!mass || each.some(([, amount]) => amount === null)) return null;
    return { mass, assays: Object.fromEntries(each) as Held["assays"] };
  });
  return held.some((one) => one === null) ? null : (held as Held[]);
}

/** Where the splitters stood: as last written down before, else as the deck file has them. */
function cutsAt({ settings, changes, startedAt }: RunRecord, deck: Deck, when: string): number[] {
  const noted = [...settings, ...changes]
    .filter(({ control }) => control === "splitter")
    .map(({ target, figure, at: noted }) => ({
      target,
      mm: figure.value,
      at: noted === null ? "" : dated(noted, startedAt),
    }))
    .toSorted((a, b) => (a.at < b.at ? -1 : a.at > b.at ? 1 : 0));
  const cuts = deck.splitters.map(({ name, atMm }) => {
    const own = noted.filter(({ target }) => alike(target, name) || (target === "" && deck.splitters.length === 1));
    const before = own.filter(({ at: noted }) => noted.slice(0, 16) <= when.slice(0, 16));
    return (before.at(-1) ?? own[0])?.mm ?? atMm;
  });
  return cuts.map((mm, i) => Math.max(mm, ...cuts.slice(0, i)));
}

/** One state of all that is uncertain. */
interface State {
  readonly before: (mm: number) => ByClass;
  readonly mix: Mix;
  readonly pricing: Pricing;
}

/** The likeliest state, or one drawn. */
function stateOf(found: SplitterCase, random: Random | null): State | null {
  const { seen, deck, outletMm, held, productOf, run, metal, won, usual, accounts } = found;
  const normal = () => (random ? bell(random) : 0);
  const draw = ({ value, error }: Measured) => value + error * normal();
  const above0 = (one: Measured) => ({ ...one, value: Math.max(0, draw(one)) });
  const all = seen.map((_, i) => i);
  const doubt: Doubt = {
    edges: [normal(), normal(), normal(), normal()],
    tails: Math.exp(TAILS_LOG_SD * normal()),
    photos: random ? all.map(() => Math.floor(random() * all.length)) : all,
  };
  const { before, taken, shown } = fallOf(seen, deck, outletMm, doubt);
  const byLaunder = taken(deck.launders.length);
  const products = held.map((_, product): ByClass => {
    const rows = byLaunder.filter((_, launder) => productOf[launder] === product);
    return [0, 1, 2].map((kind) => rows.reduce((sum, row) => sum + row[kind]!, 0)) as unknown as ByClass;
  });
  const drawn = held.map(({ mass, assays }) => ({
    mass: above0(mass),
    assays: Object.fromEntries(Object.entries(assays).map(([name, one]) => [name, above0(one)])),
  }));
  const mix = unmix(products, drawn, shown);
  if (!mix) return null;
  const terms = termsOf(run.prices, run.penalties, (figure) => draw(usual.of(figure, "prices")));
  const cost = (name: "rerun" | "regrind") => (run.prices[name] ? draw(usual.of(run.prices[name], "prices")) : null);
  const share = (one: Measured) => Math.min(1, Math.max(0, draw(one)));
  const half = accounts.middling?.test.lockedShare ?? { value: 0.5, error: 0.25 };
  const middling = found.usable.indexOf("middling");
  const dense = found.usable.indexOf("dense");
  const gradePercent = dense < 0 ? 0 : gradeOf(drawn[productOf[dense]!]!, metal);
  const bare: Omit<Pricing, "locked"> = {
    terms,
    metal,
    perMetal: gradePercent > 0 ? Math.max(0, (100 * paidPerTonne(terms, gradePercent)) / gradePercent) : 0,
    rerun: cost("rerun"),
    regrind: cost("regrind"),
    discard: run.prices.discard ? draw(usual.of(run.prices.discard, "prices")) : 0,
    freeWon: share(won.freeWon),
    freeWonAfterGrinding: share(won.freeWonAfterGrinding),
    lockedWonAfterGrinding: share(won.lockedWonAfterGrinding),
  };
  // grains were counted in the middling as it is: what of its metal is locked sits in its middling and light grains
  const inMiddling = middling < 0 ? null : byLaunder[middling]!;
  const metals = mix.assays[metal]!;
  const whole = inMiddling ? inMiddling.reduce((sum, part, kind) => sum + part * metals[kind]!, 0) : 0;
  const bound = inMiddling ? inMiddling[1]! * metals[1]! + inMiddling[2]! * metals[2]! : 0;
  const locked = bound > 0 ? Math.min(1, (share(half) * whole) / bound) : share(half);
  return { before, mix, pricing: { ...bare, locked } };
}

const gradeOf = ({ mass, assays }: Held, metal: string) =>
  mass.value > 0 ? Math.min(100, (100 * assays[metal]!.value) / mass.value) : 0;

/** What a launder takes between two places. */
function loadOf({ mix }: State, metal: string, from: ByClass, to: ByClass): Load {
  const part = (of: ByClass) =>
    of.reduce((sum, amount, kind) => sum + amount * Math.max(0, to[kind]! - from[kind]!), 0);
  const assays = Object.fromEntries(Object.entries(mix.assays).map(([name, of]) => [name, part(of)]));
  const dense = mix.assays[metal]![0] * Math.max(0, to[0] - from[0]);
  return { mass: part(mix.mass), assays, freeMetal: dense };
}

function moneyAt(state: State, { metal, usable, outletMm }: SplitterCase, cuts: readonly number[]): number {
  const ends = [0, ...cuts, outletMm].map(state.before);
  return usable.reduce(
    (sum, product, i) => sum + bringOf(product, loadOf(state, metal, ends[i]!, ends[i + 1]!), state.pricing).money,
    0,
  );
}

/** Mean over states; what leaves before each place is worked out once. */
function meanWorth(
  states: readonly State[],
  { metal, usable, outletMm }: SplitterCase,
  places: readonly (readonly number[])[],
) {
  const all = [...new Set([0, ...places.flat(), outletMm])];
  const tables = states.map(({ before }) => new Map(all.map((mm) => [mm, before(mm)])));
  return (launder: number, fromMm: number, toMm: number): number => {
    let sum = 0;
    states.forEach((state, s) => {
      const load = loadOf(state, metal, tables[s]!.get(fromMm)!, tables[s]!.get(toMm)!);
      sum += bringOf(usable[launder]!, load, state.pricing).money;
    });
    return sum / states.length;
  };
}

interface Told {
  readonly taken: RunSplitters["launders"][number]["now"];
  readonly way: ReturnType<typeof bringOf>["way"];
  /** Money for a tonne of it. */
  readonly perTonne: number;
}
function takenAt(state: State, { metal, usable, outletMm, held }: SplitterCase, cuts: readonly number[]): Told[] {
  const ends = [0, ...cuts, outletMm].map(state.before);
  // of the metal that leaves by all products, also those that no splitter parts
  const whole = Math.max(
    held.reduce((sum, { assays }) => sum + assays[metal]!.value, 0),
    Number.MIN_VALUE,
  );
  return usable.map((product, i) => {
    const load = loadOf(state, metal, ends[i]!, ends[i + 1]!);
    const { money, way } = bringOf(product, load, state.pricing);
    const inIt = load.assays[metal]!;
    return {
      taken: {
        feedPercent: 100 * load.mass,
        gradePercent: load.mass > 0 ? (100 * inIt) / load.mass : 0,
        recoveryPercent: (100 * inIt) / whole,
      },
      way,
      perTonne: load.mass > 0 ? money / load.mass : 0,
    };
  });
}

/** Every place a splitter can stand, thinned to so many; where it stands now is always one. */
function placesOf({ splitters }: Deck, now: readonly number[], outletMm: number, most: number): number[][] {
  return splitters.map(({ minMm = 0, maxMm = outletMm, stepMm = STEP_MM, movable }, i) => {
    if (!movable) return [now[i]!];
    const [first, last] = [Math.ceil(minMm / stepMm - 1e-9), Math.floor(Math.min(maxMm, outletMm) / stepMm + 1e-9)];
    const every = Math.max(1, Math.ceil((last - first + 1) / most));
    const all = Array.from(
      { length: Math.max(0, Math.floor((last - first) / every) + 1) },
      (_, k) => (first + k * every) * stepMm,
    );
    return [...new Set([...all, now[i]!])].toSorted((a, b) => a - b);
  });
}

/** Dry feed of a day, t; what is wanting where it is not told. */
function perDay(
  run: RunRecord,
  { unit, judged }: RunAccounts,
  usual: UsualErrors,
): { tonnes: Measured | null; caution: MoneyCaution | null } {
  const hoursADay = run.prices["hours a day"];
  const feeds = judged.after.streams.filter(isFeed);
  const fed = judged.after.derive((read) => feeds.reduce((sum, { name }) => sum + read(name, null), 0));
  const set = [...run.settings, ...run.changes].filter(({ control }) => control === "feed rate").at(-1);
  const hours = run.hours && usual.of(run.hours, "hours");
  const kgPerHour =
    unit === "kg/h" && fed
      ? fed
      : unit === "kg" && fed && hours && hours.value > 0
        ? ratio(fed, hours)
        : set
          ? usual.of(set.figure, "settings")
          : null;
  if (!kgPerHour) return { tonnes: null, caution: "no-rate" };
  if (!hoursADay) return { tonnes: null, caution: "no-hours" };
  const day = { value: hoursADay.value, error: hoursADay.error ?? 0 };
  const value = (kgPerHour.value * day.value) / 1000;
  const error = Math.hypot(kgPerHour.error * day.value, kgPerHour.value * day.error) / 1000;
  return { tonnes: { value, error }, caution: null };
}
const ratio = (a: Measured, b: Measured): Measured => ({
  value: a.value / b.value,
  error: Math.abs(a.value / b.value) * Math.hypot(a.error / (a.value || 1), b.error / b.value),
});

function restsOn(run: RunRecord, { seen, held, accounts }: SplitterCase): RunSplitters["restsOn"] {
  const grains = run.samples.flatMap(({ figures }) =>
    ["free dense", "free light", "locked"].map((name) => figures[name]?.value ?? 0),
  );
  return {
    photos: seen.length,
    products: held.length,
    assays: run.samples.filter(({ kind }) => kind === "assay").length,
    checks: accounts.judged.after.freedom,
    grains: grains.reduce((sum, count) => sum + count, 0),
  };
}

function cautionsOf(run: RunRecord, found: SplitterCase, { off }: Mix, day: MoneyCaution | null): MoneyCaution[] {
  const { seen, accounts, usable, usual, held } = found;
  const middling = usable.includes("middling");
  const taken = ["free won", "free won ground", "locked won ground"] as const;
  const said: (MoneyCaution | false | null)[] = [
    seen.length === 1 && "one-photo",
    seen.length > 1 && seen.length < FEW_PHOTOS && "few-photos",
    "tails-unseen",
    accounts.judged.after.freedom === 0 && "nothing-checks",
    off > OFF && "not-explained",
    (usual.say().length > 0 || accounts.notes.some(({ code }) => code === "usual.mind")) && "errors-taken",
    middling && (!run.prices.rerun || !run.prices.regrind) && "middling-unpriced",
    middling && accounts.middling?.test.lockedShare == null && "middling-untested",
    middling && taken.some((name) => !run.prices[name]) && "shares-taken",
    Object.keys(run.penalties).some((assay) => !(assay in held[0]!.assays)) && "penalty-unassayed",
    day,
  ];
  return said.filter((one): one is MoneyCaution => typeof one === "string");
}

const at = (sorted: readonly number[], share: number) => sorted[Math.round(share * (sorted.length - 1))]!;
function intervalOf(sorted: readonly number[]) {
  const value = sorted.reduce((sum, one) => sum + one, 0) / sorted.length;
  const squares = sorted.reduce((sum, one) => sum + (one - value) ** 2, 0);
  const error = Math.sqrt(squares / Math.max(1, sorted.length - 1));
  return { value, error, from: at(sorted, 0.025), to: at(sorted, 0.975) };
}
const scaled = (gains: readonly number[], times: Measured, random: Random) =>
  intervalOf(
    gains.map((gain) => gain * Math.max(0, times.value + times.error * bell(random))).toSorted((a, b) => a - b),
  );
