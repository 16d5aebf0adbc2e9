import type { Reading } from "../../vision/contract/index.ts";
import { button, el, fill, svgEl } from "../element.ts";
import type { FlatDrawing, LaunderContent, SplitterRange } from "../flat-deck.ts";
import { bandsOf, flatLegend } from "../flat-legend.ts";
import { launderTable } from "../launder-table.ts";
import { outletLine } from "../outlet-line.ts";
import { outletSlider } from "../outlet-slider.ts";
import { number, outletUnits, say } from "../words.ts";

/** A reading on the flat deck. */
export interface FlatShown {
  readonly reading: Reading;
  readonly drawing: FlatDrawing;
  /** The photo of the deck laid flat, drive end at the left; null where this device cannot lay it flat. */
  readonly photo: Promise<Blob | null>;
  /** A left-hand deck seen from above: its drive end is at the right. */
  readonly mirrored: boolean;
  /** What launders would carry with splitters at these places. */
  readonly tryPlaces: (places: readonly number[]) => Promise<readonly LaunderContent[]>;
}

type Point = readonly [x: number, y: number];
/** Room round the deck on the stage, px: words, and on outlet sides the ruler with the splitters' handles. */
const WORDS_PX = 26;
const OUTLET_PX = 86;
/** How far off the deck a handle's middle stands, and how far apart two are at least, px. */
const HANDLE_OFF_PX = 58;
const HANDLE_APART_PX = 54;
const RULER_APART_PX = 42;
/** A ruler's number this near to a handle's middle would lie below it, px. */
const HANDLE_CLEAR_PX = 40;

/**
 * Bands on the deck seen from above, the wash-water side at the top, with the outlet's ruler. A splitter is dragged along it, or
 * moved by its buttons and arrow keys, to see what launders would carry; nothing is changed by that.
 */
export function flatView({ reading, drawing, mirrored, tryPlaces, ...shown }: FlatShown): HTMLElement {
  const { lengthMm, widthMm, splitters } = drawing;
  const units = outletUnits(reading);
  const line = outletLine(drawing.outletPath, [lengthMm / 2, widthMm / 2]);
  const stand = splitters.map(({ atMm }) => atMm);
  let places: readonly number[] = stand;

  const photo = el("img", { class: "flat-photo", alt: "", draggable: "false", hidden: true });
  const bands = bandsOf(drawing.svg);
  const marks = svgEl("svg", { class: "flat-marks", role: "img", "aria-label": say("flat.alt") });
  const stage = el("div", { class: "flat-stage", dir: "ltr" }, photo, marks);
  void shown.photo.then((blob) => {
    if (!blob) return;
    photo.src = URL.createObjectURL(blob);
    photo.onload = () => URL.revokeObjectURL(photo.src);
    photo.hidden = false;
    draw();
  });

  // where things are on the stage

  const frame = () => {
    const [left, right] = mirrored ? [OUTLET_PX, WORDS_PX] : [WORDS_PX, OUTLET_PX];
    const scale = Math.max(0.01, (stage.clientWidth - left - right) / lengthMm);
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
  /** @param px  Off the deck. */
  const beside = (mm: number, px: number): Point => {
    const { at, off } = line.place(mm);
    const [x, y] = toStage(at);
    return [x + (mirrored ? -off[0] : off[0]) * px, y + off[1] * px];
  };
  /** Middles of the handles: beside their places, and far enough apart to be taken one by one. */
  const handlePoints = (): Point[] => {
    const points: Point[] = [];
    for (const mm of places) {
      const before = points.at(-1);
      let at = beside(mm, HANDLE_OFF_PX);
      for (let more = mm; before && more < line.lengthMm && distance(at, before) < HANDLE_APART_PX; more += 5) {
        at = beside(more, HANDLE_OFF_PX);
      }
      points.push(at);
    }
    return points;
  };

  // moving a splitter

  /** Between its neighbours and its own ends. */
  const clamp = (i: number, mm: number): number => {
    const { minMm, maxMm } = splitters[i]!;
    const [least, most] = [Math.max(minMm, places[i - 1] ?? 0), Math.min(maxMm, places[i + 1] ?? line.lengthMm)];
    return Math.round(Math.max(least, Math.min(most, mm)) * 10) / 10;
  };
  const move = (i: number, mm: number) => put(places.map((was, k) => (k === i ? clamp(i, mm) : was)));
  const put = (next: readonly number[]) => {
    places = next;
    draw();
    ask();
  };
  const nudge = (i: number, steps: number) => move(i, places[i]! + steps * splitters[i]!.stepMm);

  const handles = splitters.map(({ name, minMm, maxMm, movable }, i) =>
    outletSlider({
      number: number(i + 1),
      label: say("flat.handle", { name }),
      minMm,
      maxMm,
      movable,
      now: () => places[i]!,
      mmAt: (event) => {
        const box = stage.getBoundingClientRect();
        return line.nearest(toDeck([event.clientX - box.left, event.clientY - box.top]));
      },
      move: (mm) => move(i, mm),
      nudge: (steps) => nudge(i, steps),
    }),
  );
  stage.append(...handles);

  // what launders carry

  let carried: readonly LaunderContent[] | null = null;
  let atStand: readonly LaunderContent[] | null = null;
  let asking = false;
  let again = false;
  /** One question at a time: the last one counts. */
  function ask() {
    if (asking) {
      again = true;
      return;
    }
    asking = true;
    const asked = places;
    tryPlaces(asked)
      .then((content) => {
        carried = content;
        if (asked === stand) atStand = content;
        tell();
      })
      .catch((error: unknown) => console.warn(error)) // the picture stays, without sums
      .finally(() => {
        asking = false;
        if (!again) return;
        again = false;
        ask();
      });
  }

  const told = el("p", { role: "status", class: "flat-told" });
  const table = launderTable(units);
  const back = button(say("flat.back"), () => put(stand), { class: "quiet" });
  const best = splitters.map(({ suggestedMm, atMm }) => suggestedMm ?? atMm);
  const tryBest = button(say("flat.tryBest"), () => put(best), { class: "quiet" });
  const lines = splitters.map((splitter, i) => splitterLine(splitter, i));
  const content =
    splitters.length === 0
      ? el("p", {}, say("flat.noSplitters"))
      : el(
          "div",
          { class: "flat-launders" },
          el("p", {}, say("flat.how")),
          el("ul", { class: "flat-splitters" }, ...lines.map(({ element }) => element)),
          told,
          table.element,
          el("div", { class: "choices" }, tryBest, back),
        );

  function splitterLine({ name, stepMm, movable }: SplitterRange, i: number) {
    const at = el("output", {});
    const step = units.say(stepMm);
    const buttons = movable && [
      button("−", () => nudge(i, -1), { class: "quiet flat-step", "aria-label": say("flat.less", { name, step }) }),
      button("+", () => nudge(i, 1), { class: "quiet flat-step", "aria-label": say("flat.more", { name, step }) }),
    ];
    const element = el(
      "li",
      {},
      el("span", { class: "flat-number", "aria-hidden": "true" }, number(i + 1)),
      el("span", { class: "flat-name" }, el("b", {}, name), at),
      ...(buttons || []),
    );
    return { element, at };
  }

  const isTry = () => places.some((mm, i) => mm !== stand[i]);
  function tell() {
    if (!carried) return;
    const moves = splitters.flatMap(({ name, atMm }, i) =>
      places[i] === atMm ? [] : [say("flat.move", { name, from: units.say(atMm), to: units.say(places[i]!) })],
    );
    fill(told, say(moves.length > 0 ? "flat.try" : "flat.asItStands", { moves: moves.join(", ") }));
    told.classList.toggle("is-try", moves.length > 0);
    table.update(carried, isTry() ? atStand : null);
  }

  // drawing

  function draw() {
    if (stage.clientWidth === 0) return;
    const { left, top, width, height, scale } = frame();
    const stageHeight = top + height + OUTLET_PX;
    stage.style.height = `${stageHeight}px`;
    Object.assign(photo.style, {
      left: `${left}px`,
      top: `${top}px`,
      width: `${width}px`,
      height: `${height}px`,
      transform: mirrored ? "scaleX(-1)" : "",
    });
    marks.setAttribute("viewBox", `0 0 ${stage.clientWidth} ${stageHeight}`);
    for (const [name, value] of Object.entries({ x: 0, y: 0, width, height })) bands.setAttribute(name, String(value));
    const laid = svgEl(
      "g",
      { transform: mirrored ? `translate(${left + width} ${top}) scale(-1 1)` : `translate(${left} ${top})` },
      bands,
    );
    const points = handlePoints();
    const ground = svgEl("rect", { x: left, y: top, width, height, class: "flat-ground" });
    marks.replaceChildren(
      ...(photo.hidden ? [ground] : []),
      laid,
      ...dryWords(),
      ...sideWords(),
      ...ruler(scale, points),
      ...splitterMarks(points),
    );
    for (const [i, [x, y]] of points.entries()) {
      const { style } = handles[i]!;
      style.left = `${x}px`;
      style.top = `${y}px`;
      const place = units.say(places[i]!);
      handles[i]!.setAttribute("aria-valuenow", String(Math.round(places[i]!)));
      handles[i]!.setAttribute("aria-valuetext", place);
      const { suggestedMm, movable } = splitters[i]!;
      const parts = [
        say("flat.at", { place }),
        suggestedMm !== null && say("flat.best", { place: units.say(suggestedMm) }),
        !movable && say("flat.fixed"),
      ];
      lines[i]!.at.textContent = parts.filter(Boolean).join(" · ");
    }
    back.disabled = !isTry();
    tryBest.hidden = best.every((mm, i) => mm === stand[i]);
  }

  const text = ([x, y]: Point, words: string, more: Record<string, string | number> = {}) =>
    svgEl("text", { x, y, dy: "0.35em", class: "flat-words", ...more }, words);

  function sideWords(): SVGElement[] {
    const { left, top, width, height } = frame();
    const driveX = mirrored ? left + width + WORDS_PX / 2 : WORDS_PX / 2;
    const drive: Point = [driveX, top + height / 2];
    const turn = { transform: `rotate(${mirrored ? 90 : -90} ${drive[0]} ${drive[1]})` };
    return [text([left + width / 2, top / 2], say("flat.high")), text(drive, say("corners.side.drive"), turn)];
  }
  function dryWords(): SVGElement[] {
    return reading.dryPatches.map(({ centre }) =>
      text(toStage(centre), say("class.dry"), { class: "flat-words flat-dry" }),
    );
  }

  /** Where a stem or a pointer lies across the ruler's numbers. */
  const taken = () => [...places, ...stand, ...splitters.flatMap(({ suggestedMm }) => suggestedMm ?? [])];
  /** Ticks each 100 mm or 5 %, numbers where there is room. */
  function ruler(scale: number, handles: readonly Point[]): SVGElement[] {
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
        taken().every((p) => Math.abs(p - mm) * scale > 14) && handles.every((h) => distance(h, at) > HANDLE_CLEAR_PX);
      return long && isFree ? [stroke, text(at, units.number(mm))] : [stroke];
    }).flat();
  }

  /** Filled: where it stands. Hollow: the best place. A stem to the handle from where it is tried. */
  function splitterMarks(points: readonly Point[]): SVGElement[] {
    return splitters.flatMap(({ atMm, suggestedMm }, i) => {
      const [[x1, y1], [x2, y2]] = [beside(places[i]!, 2), points[i]!];
      const stem = (kind: string) => svgEl("line", { x1, y1, x2, y2, class: kind });
      return [
        suggestedMm === null || suggestedMm === atMm ? null : pointer(suggestedMm, "flat-pointer flat-best"),
        pointer(atMm, "flat-pointer"),
        stem("flat-stem-below"),
        stem("flat-stem"),
      ].filter((mark) => mark !== null);
    });
  }
  function pointer(mm: number, kind: string): SVGElement {
    const [tip, foot] = [beside(mm, 1), beside(mm, 15)];
    const [dx, dy] = [(foot[0] - tip[0]) * 0.45, (foot[1] - tip[1]) * 0.45];
    const points = [tip, [foot[0] - dy, foot[1] + dx], [foot[0] + dy, foot[1] - dx]];
    return svgEl("polygon", { points: points.join(" "), class: kind });
  }

  new ResizeObserver(draw).observe(stage);
  ask();
  return el("div", { class: "flat" }, stage, flatLegend(reading, splitters), content);
}

const distance = (a: Point, b: Point) => Math.hypot(a[0] - b[0], a[1] - b[1]);
