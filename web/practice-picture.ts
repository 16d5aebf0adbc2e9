import { Product } from "../vision/contract/index.ts";
import { CLASS_COLOURS } from "./class-colours.ts";
import { el } from "./element.ts";
import {
  FIRST_GUESS,
  type GrainFlow,
  grainFlows,
  loadOn,
  PRACTICE_CONTROLS,
  PRACTICE_DECK,
  PRACTICE_FEEDS,
  type PracticeControl,
  type PracticeFeed,
  type PracticeStand,
  strayMm,
  twinSettingsOf,
} from "./practice-sums.ts";
import { say } from "./words.ts";

/** The practice deck in motion: bands as areas, with grains that travel in them. */

const MM_PER_CELL = 15;
/** The picture's own pixels for each cell: grains are drawn finer than bands. */
const PX_PER_CELL = 8;
const GRAINS = 900;
/** How long a grain is on its way over the deck, s, and how soon bands follow a control, s: not a real table's times. */
const WAY_S = 7;
const FOLLOW_S = 0.6;
/** Solids that cover a cell wholly, kg/h for each mm across, and the least that show. */
const WHOLE = 0.06;
const LEAST = 0.008;
const [, GROUND, DENSE, MIDDLING, LIGHT] = CLASS_COLOURS;
const COLOURS = { dense: DENSE, middling: MIDDLING, light: LIGHT } as const satisfies Record<Product, unknown>;

interface Grain {
  readonly kind: Product;
  /** Which of its class's paths it goes, and how far off it, in standard deviations. */
  readonly path: number;
  readonly off: number;
  /** 0 to 1 of its way over the deck. */
  along: number;
}

/** @param isStill  For people who want no motion: bands follow at once, and grains stand. */
export function practicePicture(isStill: boolean) {
  const columns = Math.ceil(PRACTICE_DECK.lengthMm / MM_PER_CELL);
  const rows = Math.ceil(PRACTICE_DECK.widthMm / MM_PER_CELL);
  const element = el("canvas", {
    class: "flat-photo practice-picture",
    width: columns * PX_PER_CELL,
    height: rows * PX_PER_CELL,
    role: "img",
    "aria-label": say("practice.picture"),
  });
  const pen = element.getContext("2d")!;
  const bands = new OffscreenCanvas(columns, rows);
  const bandsPen = bands.getContext("2d")!;
  const cells = bandsPen.createImageData(columns, rows);

  let feed: PracticeFeed = "tin";
  let wanted: PracticeStand | null = null;
  let shown: PracticeStand | null = null;
  let flows: Readonly<Record<Product, GrainFlow>> | null = null;
  let grains: Grain[] = [];
  let last = 0;
  let frames = 0;

  const px = (mm: number) => (mm / MM_PER_CELL) * PX_PER_CELL;
  function layBands() {
    flows = grainFlows(PRACTICE_DECK, twinSettingsOf(shown!), PRACTICE_FEEDS[feed]);
    const { loads } = loadOn(PRACTICE_DECK, flows, FIRST_GUESS, MM_PER_CELL);
    for (let x = 0; x < columns; x++) {
      for (let y = 0; y < rows; y++) {
        const at = x * rows + y;
        const kind = Product.options.reduce((best, name) => (loads[name][at]! > loads[best][at]! ? name : best));
        const all = loads.dense[at]! + loads.middling[at]! + loads.light[at]!;
        const share = all < LEAST ? 0 : 0.35 + 0.55 * Math.min(1, all / WHOLE);
        const to = 4 * (y * columns + x);
        for (const [i, ground] of GROUND.entries()) cells.data[to + i] = ground + share * (COLOURS[kind][i]! - ground);
        cells.data[to + 3] = 255;
      }
    }
    bandsPen.putImageData(cells, 0, 0);
  }
  function newGrains(): Grain[] {
    const of = (kind: Product) => {
      const count = Math.round(GRAINS * PRACTICE_FEEDS[feed][kind].share);
      return Array.from({ length: count }, () => ({
        kind,
        path: Math.floor(Math.random() * flows![kind].paths.length),
        off: Math.random() + Math.random() + Math.random() + Math.random() - 2, // near enough to a bell, sd 0.58
        along: Math.random(),
      }));
    };
    return Product.options.flatMap(of);
  }
  function drawGrains() {
    pen.imageSmoothingEnabled = true;
    pen.drawImage(bands, 0, 0, element.width, element.height);
    drawRiffles();
    for (const { kind, path, off, along } of grains) {
      const flow = flows![kind];
      const { startMm, fallPerMm } = flow.paths[path]!;
      const way = along * (PRACTICE_DECK.lengthMm - startMm);
      const down = fallPerMm * way;
      const y = Math.abs(down + off * 1.7 * strayMm(flow, down, FIRST_GUESS));
      if (y > PRACTICE_DECK.widthMm) continue; // it has left
      const [red, green, blue] = COLOURS[kind];
      pen.fillStyle = `rgb(${red} ${green} ${blue})`;
      pen.strokeStyle = kind === "light" ? "#101418" : "#ffffff";
      pen.beginPath();
      pen.arc(px(startMm + way), px(y), 3.2, 0, 2 * Math.PI);
      pen.fill();
      pen.stroke();
    }
    frames++;
    element.dataset.frames = String(frames);
  }
  /** Riffles taper out toward the dense-product end, the lowest ones last, as on many decks. */
  function drawRiffles() {
    pen.strokeStyle = "rgb(16 20 24 / 0.28)";
    pen.beginPath();
    for (let y = 60; y < PRACTICE_DECK.widthMm; y += 60) {
      pen.moveTo(0, px(y));
      pen.lineTo(px(700 + 900 * (y / PRACTICE_DECK.widthMm)), px(y));
    }
    pen.stroke();
  }

  /** Part of the way from what is shown to what is wanted; whether that moved anything. */
  function follow(seconds: number): boolean {
    if (!wanted || !shown || shown === wanted) return false;
    const share = isStill ? 1 : 1 - Math.exp(-seconds / FOLLOW_S);
    const next = { ...shown };
    let near = true;
    for (const name of Object.keys(PRACTICE_CONTROLS) as PracticeControl[]) {
      next[name] = shown[name] + share * (wanted[name] - shown[name]);
      near &&= Math.abs(wanted[name] - next[name]) < 0.02 * PRACTICE_CONTROLS[name].step;
    }
    shown = near ? wanted : next;
    return true;
  }
  function frame(now: number) {
    if (!element.isConnected) return; // the screen was left
    const seconds = Math.min(0.2, (now - last) / 1000);
    last = now;
    if (follow(seconds)) layBands();
    if (!isStill) for (const grain of grains) grain.along = (grain.along + seconds / WAY_S) % 1;
    drawGrains();
    if (!isStill) requestAnimationFrame(frame);
  }
  /** Show another stand; another feed at once, a moved control little by little. */
  function show(nextFeed: PracticeFeed, stand: PracticeStand, atOnce: boolean) {
    wanted = stand;
    const isFirst = shown === null;
    if (atOnce || isFirst || nextFeed !== feed) {
      feed = nextFeed;
      shown = stand;
      layBands();
      grains = newGrains();
    }
    if (isFirst || isStill) requestAnimationFrame(frame);
  }
  return { element, show };
}
