import { el, svgEl } from "./element.ts";
import { type OutletPlace, outletLine } from "./outlet-line.ts";
import { outletSlider } from "./outlet-slider.ts";
import type { outletUnits } from "./reading-words.ts";
import { number, say } from "./words.ts";

/** A deck seen from above, its wash-water side at the top, with a ruler along the outlet and handles beside it. */

export type Point = readonly [x: number, y: number];
/** A handle that may be moved along the outlet, mm. */
export interface StageHandle {
  readonly label: string;
  /** What stands on it. */
  readonly mark: string;
  readonly minMm: number;
  readonly maxMm: number;
  readonly movable: boolean;
  readonly class?: string;
}
export interface StageNeeds {
  readonly lengthMm: number;
  readonly widthMm: number;
  readonly outletPath: readonly Point[];
  /** A left-hand deck seen from above: its drive end is at the right. */
  readonly mirrored: boolean;
  readonly units: ReturnType<typeof outletUnits>;
  readonly handles: readonly StageHandle[];
  /** Where the handles stand now, outlet mm. */
  readonly places: () => readonly number[];
  readonly move: (handle: number, mm: number) => void;
  readonly nudge: (handle: number, steps: number) => void;
  /** Pictures that lie on the deck, below what is drawn; they are given its place. */
  readonly below?: readonly (HTMLElement & ElementCSSInlineStyle)[];
  /** What is drawn on the deck, and over it. */
  readonly onDeck: (frame: Frame) => readonly SVGElement[];
  readonly over?: () => readonly SVGElement[];
  /** Places that the ruler's numbers keep clear of, beside the handles, outlet mm. */
  readonly keepClear?: () => readonly number[];
}
/** Where the deck lies on the stage, px. */
export interface Frame {
  readonly left: number;
  readonly top: number;
  readonly width: number;
  readonly height: number;
  /** Stage px for each mm. */
  readonly scale: number;
}

/** Room round the deck on the stage, px: words, and on outlet sides the ruler with the handles. */
const WORDS_PX = 26;
const OUTLET_PX = 86;
/** How far off the deck a handle's middle stands, and how far apart two are at least, px. */
const HANDLE_OFF_PX = 58;
const HANDLE_APART_PX = 54;
const RULER_APART_PX = 42;
/** A ruler's number this near to a handle's middle would lie below it, px. */
const HANDLE_CLEAR_PX = 40;

export function flatStage(needs: StageNeeds) {
  const { lengthMm, widthMm, mirrored, units, places, below = [] } = needs;
  const line = outletLine(needs.outletPath, [lengthMm / 2, widthMm / 2]);
  const marks = svgEl("svg", { class: "flat-marks", role: "img", "aria-label": say("flat.alt") });
  const element = el("div", { class: "flat-stage", dir: "ltr" }, ...below, marks);

  const frame = (): Frame => {
    const [left, right] = mirrored ? [OUTLET_PX, WORDS_PX] : [WORDS_PX, OUTLET_PX];
    const scale = Math.max(0.01, (element.clientWidth - left - right) / lengthMm);
    return { left, top: WORDS_PX, scale, width: lengthMm * scale, height: widthMm * scale };
  };
  const toStage = ([x, y]: Point): Point => {
    const { left, top, scale } = frame();
    return [left + (mirrored ? lengthMm - x : x) * scale, top + y * scale];
  };
  const toDeck = ([x, y]: Point): Point => {
    const { left, top, scale } = frame();
    const along = (x - left) / scale;
    return [mirrored ? lengthMm - along : along, (y - top) / scale];
  };
  /** The place on the deck below a pointer, mm. */
  const pointedAt = (event: PointerEvent): Point => {
    const box = element.getBoundingClientRect();
    return toDeck([event.clientX - box.left, event.clientY - box.top]);
  };
  /** @param px  Off the deck. */
  const beside = (mm: number, px: number): Point => {
    const { at, off }: OutletPlace = line.place(mm);
    const [x, y] = toStage(at);
    return [x + (mirrored ? -off[0] : off[0]) * px, y + off[1] * px];
  };
  /** Middles of the handles: beside their places, and far enough apart to be taken one by one. */
  const handlePoints = (): Point[] => {
    const points: Point[] = [];
    for (const mm of places()) {
      let at = beside(mm, HANDLE_OFF_PX);
      const isFree = () => points.every((other) => distance(at, other) >= HANDLE_APART_PX);
      for (let more = mm; more < line.lengthMm && !isFree(); more += 5) at = beside(more, HANDLE_OFF_PX);
      points.push(at);
    }
    return points;
  };
  const handles = needs.handles.map(({ mark, label, minMm, maxMm, movable, class: kind }, i) => {
    const one = outletSlider({
      number: mark,
      label,
      minMm,
      maxMm,
      movable,
      now: () => places()[i]!,
      mmAt: (event) => line.nearest(pointedAt(event)),
      move: (mm) => needs.move(i, mm),
      nudge: (steps) => needs.nudge(i, steps),
    });
    if (kind) one.classList.add(kind);
    return one;
  });
  element.append(...handles);

  function draw(): void {
    if (element.clientWidth === 0) return;
    const now = frame();
    const { left, top, width, height, scale } = now;
    const stageHeight = top + height + OUTLET_PX;
    element.style.height = `${stageHeight}px`;
    const turn = mirrored ? "scaleX(-1)" : "";
    for (const { style } of below) {
      Object.assign(style, {
        left: `${left}px`,
        top: `${top}px`,
        width: `${width}px`,
        height: `${height}px`,
        transform: turn,
      });
    }
    marks.setAttribute("viewBox", `0 0 ${element.clientWidth} ${stageHeight}`);
    const transform = mirrored ? `translate(${left + width} ${top}) scale(-1 1)` : `translate(${left} ${top})`;
    const points = handlePoints();
    marks.replaceChildren(
      svgEl("g", { transform }, ...needs.onDeck(now)),
      ...(needs.over?.() ?? []),
      ...sideWords(now),
      ...ruler(scale, points),
      ...points.flatMap((point, i) => stems(places()[i]!, point)),
    );
    for (const [i, [x, y]] of points.entries()) {
      const handle = handles[i]!;
      handle.style.left = `${x}px`;
      handle.style.top = `${y}px`;
      handle.setAttribute("aria-valuenow", String(Math.round(places()[i]!)));
      handle.setAttribute("aria-valuetext", units.say(places()[i]!));
    }
  }
  function sideWords({ left, top, width, height }: Frame): SVGElement[] {
    const driveX = mirrored ? left + width + WORDS_PX / 2 : WORDS_PX / 2;
    const drive: Point = [driveX, top + height / 2];
    const turn = { transform: `rotate(${mirrored ? 90 : -90} ${drive[0]} ${drive[1]})` };
    return [
      stageWords([left + width / 2, top / 2], say("flat.high")),
      stageWords(drive, say("corners.side.drive"), turn),
    ];
  }
  /** Ticks each 100 mm or 5 %, numbers where there is room. */
  function ruler(scale: number, handlesAt: readonly Point[]): SVGElement[] {
    const taken = [...places(), ...(needs.keepClear?.() ?? [])];
    const tickMm = units.assumed ? line.lengthMm / 20 : 100;
    const every = [2, 4, 10].find((ticks) => ticks * tickMm * scale >= RULER_APART_PX) ?? 20;
    const count = Math.floor(line.lengthMm / tickMm + 1e-6);
    return Array.from({ length: count + 1 }, (_, tick) => {
      const mm = tick * tickMm;
      const long = tick % every === 0;
      const [[x1, y1], [x2, y2]] = [beside(mm, 0), beside(mm, long ? 10 : 5)];
      const stroke = svgEl("line", { x1, y1, x2, y2, class: "flat-tick" });
      const at = beside(mm, 25);
      const isFree =
        taken.every((p) => Math.abs(p - mm) * scale > 14) && handlesAt.every((h) => distance(h, at) > HANDLE_CLEAR_PX);
      return long && isFree ? [stroke, stageWords(at, units.scale(mm))] : [stroke];
    }).flat();
  }
  /** From the place to its handle. */
  function stems(mm: number, [x2, y2]: Point): SVGElement[] {
    const [x1, y1] = beside(mm, 2);
    return ["flat-stem-below", "flat-stem"].map((kind) => svgEl("line", { x1, y1, x2, y2, class: kind }));
  }
  new ResizeObserver(draw).observe(element);
  return { element, line, draw, toStage, pointedAt, beside };
}

/** Words on the stage. */
export const stageWords = ([x, y]: Point, words: string, more: Record<string, string | number> = {}) =>
  svgEl("text", { x, y, dy: "0.35em", class: "flat-words", ...more }, words);

/** A splitter's place between its neighbours and its own ends, outlet mm to 0.1. */
export function betweenNeighbours(
  { minMm, maxMm }: { readonly minMm: number; readonly maxMm: number },
  places: readonly number[],
  i: number,
  mm: number,
  lengthMm: number,
): number {
  const [least, most] = [Math.max(minMm, places[i - 1] ?? 0), Math.min(maxMm, places[i + 1] ?? lengthMm)];
  return Math.round(Math.max(least, Math.min(most, mm)) * 10) / 10;
}

const distance = (a: Point, b: Point) => Math.hypot(a[0] - b[0], a[1] - b[1]);
export const handleNumber = (i: number) => number(i + 1);
