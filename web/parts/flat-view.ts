import { CLASS_NAMES, type Product, type Reading } from "../../vision/contract/index.ts";
import { button, el, fill, svgEl } from "../element.ts";
import type { FlatDrawing, LaunderContent, SplitterRange } from "../flat-deck.ts";
import { outletLine } from "../outlet-line.ts";
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
const PRODUCTS = ["dense", "middling", "light"] as const satisfies readonly Product[];
/** Room round the deck on the stage, px: words, and on outlet sides the ruler with the splitters' handles. */
const WORDS_PX = 26;
const OUTLET_PX = 86;
/** How far off the deck a handle's middle stands, and how far apart two are at least, px. */
const HANDLE_OFF_PX = 58;
const HANDLE_APART_PX = 54;
const RULER_APART_PX = 42;
/** A ruler's number this near to a handle's middle would lie below it, px. */
const HANDLE_CLEAR_PX = 40;
/** What only the overlay on the photo has in English words or without a handle. */
const LEFT_OUT = "#ruler, #splitters, #names, #splitter-words, #legend, #dry text, title";

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
  const handles = splitters.map((_, i) => handle(i));
  const stage = el("div", { class: "flat-stage", dir: "ltr" }, photo, marks, ...handles);
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

  function handle(i: number): HTMLElement {
    const { name, minMm, maxMm, movable } = splitters[i]!;
    const element = el(
      "div",
      {
        class: "handle flat-handle",
        hidden: !movable,
        role: "slider",
        tabindex: 0,
        "aria-label": say("flat.handle", { name }),
        "aria-valuemin": Math.round(minMm),
        "aria-valuemax": Math.round(maxMm),
        onpointerdown: (event: PointerEvent) => press(event),
        onkeydown: (event: KeyboardEvent) => key(event),
      },
      el("span", { "aria-hidden": "true" }, number(i + 1)),
    );
    function press(event: PointerEvent) {
      if (!event.isPrimary || event.button !== 0) return;
      event.preventDefault();
      element.focus();
      element.setPointerCapture(event.pointerId);
      const box = stage.getBoundingClientRect();
      const mmAt = (now: PointerEvent) => line.nearest(toDeck([now.clientX - box.left, now.clientY - box.top]));
      const offset = places[i]! - mmAt(event); // it does not jump when it is taken beside its middle
      const over = new AbortController();
      element.addEventListener("pointermove", (now) => move(i, mmAt(now) + offset), { signal: over.signal });
      for (const end of ["pointerup", "pointercancel"] as const)
        element.addEventListener(end, () => over.abort(), { signal: over.signal });
    }
    function key(event: KeyboardEvent) {
      const far = event.shiftKey ? 10 : 1;
      const steps = KEY_STEPS[event.key];
      if (steps) nudge(i, steps * far);
      else if (event.key === "Home") move(i, minMm);
      else if (event.key === "End") move(i, maxMm);
      else return;
      event.preventDefault();
    }
    return element;
  }

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
  const rows = el("tbody");
  const back = button(say("flat.back"), () => put(stand), { class: "quiet" });
  const best = splitters.map(({ suggestedMm, atMm }) => suggestedMm ?? atMm);
  const tryBest = button(say("flat.tryBest"), () => put(best), { class: "quiet" });
  const lines = splitters.map((splitter, i) => splitterLine(splitter, i));
  const heads = [say("numbers.launder"), ...PRODUCTS.map((p) => say(`taps.${p}`))];
  const content =
    splitters.length === 0
      ? el("p", {}, say("flat.noSplitters"))
      : el(
          "div",
          { class: "flat-launders" },
          el("p", {}, say("flat.how")),
          el("ul", { class: "flat-splitters" }, ...lines.map(({ element }) => element)),
          told,
          el(
            "div",
            { class: "table-wrap", tabindex: 0, role: "group", "aria-label": say("flat.title") },
            el(
              "table",
              {},
              el("caption", {}, say("flat.title")),
              el("thead", {}, el("tr", {}, ...heads.map((h) => el("th", { scope: "col" }, h)))),
              rows,
            ),
          ),
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
    fill(rows, ...carried.map((launder, i) => launderRow(launder, isTry() ? atStand?.[i] : undefined)));
  }
  function launderRow(launder: LaunderContent, now: LaunderContent | undefined) {
    const { name, product, fromMm, toMm } = launder;
    const [from, to] = [units.number(fromMm), units.number(toMm)];
    const place = say("numbers.launderPlace", { name, product: say(`class.${product}`), from, to, unit: units.unit });
    const cells = PRODUCTS.map((p) => {
      const { share, error } = launder.carried[p];
      const was = now && whole(now.carried[p].share) !== whole(share) && now.carried[p].share;
      return el(
        "td",
        {},
        whole(share) + (error > 0 ? ` ±\u00a0${number(Math.max(1, 100 * error))}` : ""),
        typeof was === "number" && el("small", {}, say("flat.was", { share: whole(was) })),
      );
    });
    return el("tr", {}, el("th", { scope: "row" }, place), ...cells);
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
  return el("div", { class: "flat" }, stage, legend(reading, splitters), content);
}

/** In whole per cent: errors are of that size or larger. */
const whole = (share: number) => `${number(100 * share)}\u00a0%`;
const distance = (a: Point, b: Point) => Math.hypot(a[0] - b[0], a[1] - b[1]);
const KEY_STEPS: Readonly<Record<string, number>> = {
  ArrowUp: -1,
  ArrowLeft: -1,
  ArrowDown: 1,
  ArrowRight: 1,
  PageUp: -10,
  PageDown: 10,
};

/** The overlay's bands, outline, edges and patches, without its words. */
function bandsOf(svg: string): SVGSVGElement {
  const drawn = new DOMParser().parseFromString(svg, "image/svg+xml").documentElement as unknown as SVGSVGElement;
  for (const part of drawn.querySelectorAll(LEFT_OUT)) part.remove();
  for (const part of drawn.querySelectorAll("g[id]")) part.removeAttribute("id"); // the page has ids of its own
  drawn.setAttribute("overflow", "visible");
  return document.importNode(drawn, true);
}

/** What colours, hatches and marks mean, in the page's own words. */
function legend(reading: Reading, splitters: readonly SplitterRange[]): HTMLElement {
  const area = (name: (typeof CLASS_NAMES)[number]) => {
    const place = { x: 1, y: 1, width: 34, height: 20 };
    const hatch = name === "dry" ? [] : [svgEl("rect", { ...place, fill: `url(#db-${name})` })];
    const box = svgEl("rect", { ...place, class: `flat-swatch flat-${name}` });
    return item([box, ...hatch], say(`class.${name}`));
  };
  const item = (drawn: readonly SVGElement[], words: string) =>
    el("li", {}, svgEl("svg", { viewBox: "0 0 36 22", class: "flat-key", "aria-hidden": "true" }, ...drawn), words);
  const pointer = (kind: string) => svgEl("polygon", { points: "18 2 26 20 10 20", class: kind });
  const shown = CLASS_NAMES.filter((name) => name !== "bare" && (reading.cover?.[name] ?? 0) > 0.002);
  const edge = [
    svgEl("rect", { x: 1, y: 7, width: 34, height: 8, class: "flat-swatch flat-middling" }),
    svgEl("rect", { x: 13, y: 1, width: 10, height: 20, class: "flat-edge" }),
  ];
  const moves = splitters.some(({ atMm, suggestedMm }) => suggestedMm !== null && suggestedMm !== atMm);
  return el(
    "ul",
    { class: "flat-legend" },
    ...shown.map(area),
    item(edge, say("flat.edge")),
    splitters.length > 0 && item([pointer("flat-pointer")], say("flat.now")),
    moves && item([pointer("flat-pointer flat-best")], say("flat.bestPlace")),
  );
}
