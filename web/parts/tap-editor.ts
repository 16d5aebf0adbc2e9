import type { Tap } from "../../vision/contract/index.ts";
import type { Corner } from "../deck.ts";
import { button, el, fill, svgEl } from "../element.ts";
import { magnifier } from "../magnifier.ts";
import { ARROWS, type State } from "../state.ts";
import { number, say, TAP_CLASSES, tapSummary } from "../words.ts";

export interface TapActions {
  readonly add: (tap: Tap) => void;
  readonly undo: () => void;
}
type TapClass = Tap["class"];
/** Steps of the keyboard's cross, share of the photo's width: without and with Shift. */
const STEPS = [0.005, 0.05] as const;

/**
 * The photo, and big buttons to say what a spot shows: choose a class, then tap the spot. A finger that stays down sees it
 * enlarged and may slide; lifting it sets the spot. By keyboard: arrow keys move a cross, Enter sets the spot, Backspace
 * takes the last one back, 1 to 5 choose the class.
 */
export function tapEditor(actions: TapActions) {
  const photo = el("img", { alt: "", class: "tap-photo", draggable: "false" });
  const marks = svgEl("svg", { class: "stage-lines", "aria-hidden": "true" });
  const glass = magnifier(photo);
  const stage = el(
    "div",
    {
      class: "stage tap-stage",
      tabindex: 0,
      role: "application",
      "aria-label": say("taps.stage"),
      onpointerdown: (event: PointerEvent) => press(event),
      onkeydown: (event: KeyboardEvent) => key(event),
      onfocus: () => stage.matches(":focus-visible") && showCross(),
      onblur: () => hideCross(),
    },
    photo,
    marks,
    glass.element,
  );
  const choices = TAP_CLASSES.map((name, i) =>
    el(
      "button",
      { type: "button", class: `tap-class tap-${name}`, onclick: () => choose(name), "data-class": name },
      el("span", { class: "swatch", "aria-hidden": "true" }),
      el("span", {}, el("b", {}, say(`taps.${name}`)), el("small", {}, say(`taps.${name}.looks`))),
      el("kbd", { class: "wide-only", "aria-hidden": "true" }, number(i + 1)),
    ),
  );
  const undo = button(say("taps.undo"), actions.undo, { class: "quiet" });
  const summary = el("p", { class: "tap-summary", role: "status" });
  const element = el(
    "div",
    { class: "tap-editor" },
    el("div", { class: "tap-classes", role: "group", "aria-label": say("taps.next") }, ...choices),
    stage,
    summary,
    undo,
  );

  let state: State | null = null;
  let chosen: TapClass = "dense";
  /** Where the keyboard's or the finger's cross is, photo pixels; null when there is none. */
  let cross: Corner | null = null;
  let lastCross: Corner | null = null;

  const choose = (name: TapClass) => {
    chosen = name;
    draw();
  };
  const inside = ([x, y]: Corner): Corner => {
    const { widthPx, heightPx } = state!.photo!;
    const round = (v: number, most: number) => Math.round(Math.max(0, Math.min(most, v)) * 10) / 10;
    return [round(x, widthPx), round(y, heightPx)];
  };
  const moveCross = (to: Corner) => {
    cross = inside(to);
    lastCross = cross;
    glass.show(cross, state!.photo!);
    draw();
  };
  const showCross = () => state?.photo && moveCross(lastCross ?? [state.photo.widthPx / 2, state.photo.heightPx / 2]);
  const hideCross = () => {
    cross = null;
    glass.hide();
    draw();
  };
  const set = (at: Corner) => actions.add({ at: [at[0], at[1]], class: chosen });

  function press(event: PointerEvent) {
    if (!event.isPrimary || event.button !== 0) return;
    stage.setPointerCapture(event.pointerId);
    const at = (now: PointerEvent): Corner => {
      const box = stage.getBoundingClientRect();
      const { widthPx, heightPx } = state!.photo!;
      return [((now.clientX - box.left) / box.width) * widthPx, ((now.clientY - box.top) / box.height) * heightPx];
    };
    const move = (now: PointerEvent) => moveCross(at(now));
    const over = new AbortController();
    const listen = (name: "pointermove" | "pointerup" | "pointercancel", act: (now: PointerEvent) => void) =>
      stage.addEventListener(name, act, { signal: over.signal });
    const end = () => {
      over.abort();
      hideCross();
    };
    listen("pointermove", move);
    listen("pointercancel", end);
    listen("pointerup", (now) => {
      end();
      set(inside(at(now)));
    });
    move(event);
  }
  function key(event: KeyboardEvent) {
    const arrow = ARROWS[event.key];
    const { widthPx, heightPx } = state!.photo!;
    const name = TAP_CLASSES[Number(event.key) - 1];
    const from = cross ?? lastCross ?? [widthPx / 2, heightPx / 2];
    if (event.altKey || event.ctrlKey || event.metaKey) return;
    if (arrow) {
      const step = STEPS[event.shiftKey ? 1 : 0] * widthPx;
      moveCross([from[0] + arrow[0] * step, from[1] + arrow[1] * step]);
    } else if (event.key === "Enter" || event.key === " ") set(inside(from));
    else if (event.key === "Backspace" || event.key === "Delete") actions.undo();
    else if (name) choose(name);
    else return;
    event.preventDefault();
  }

  const draw = () => {
    for (const choice of choices) choice.setAttribute("aria-pressed", String(choice.dataset.class === chosen));
    if (!state?.photo || stage.clientWidth === 0) return;
    const { widthPx, heightPx } = state.photo;
    const unit = widthPx / stage.clientWidth; // photo pixels for one screen pixel
    marks.setAttribute("viewBox", `0 0 ${widthPx} ${heightPx}`);
    const spots = state.taps.map(({ at: [cx, cy], class: name }) =>
      svgEl(
        "g",
        { class: `tap-spot tap-${name}` },
        svgEl("circle", { cx, cy, r: 13 * unit, "stroke-width": 3 * unit }),
        svgEl(
          "text",
          { x: cx, y: cy, dy: "0.36em", "font-size": 15 * unit, "text-anchor": "middle" },
          say(`taps.${name}.letter`),
        ),
      ),
    );
    const line = ([x1, y1]: Corner, [x2, y2]: Corner) => [
      svgEl("line", { x1, y1, x2, y2, class: "line-below", "stroke-width": 5 * unit }),
      svgEl("line", { x1, y1, x2, y2, class: "line", "stroke-width": 2 * unit }),
    ];
    const arm = 22 * unit;
    const lines = cross
      ? [
          ...line([cross[0] - arm, cross[1]], [cross[0] + arm, cross[1]]),
          ...line([cross[0], cross[1] - arm], [cross[0], cross[1] + arm]),
        ]
      : [];
    marks.replaceChildren(...spots, ...lines);
  };
  new ResizeObserver(draw).observe(stage);

  const update = (next: State) => {
    if (next.photo?.id !== state?.photo?.id) lastCross = null;
    state = next;
    if (!next.photo) return;
    if (photo.getAttribute("src") !== next.photo.previewUrl) photo.src = next.photo.previewUrl;
    stage.style.aspectRatio = `${next.photo.widthPx} / ${next.photo.heightPx}`;
    // a photo on end must leave room to scroll past it, since a finger on it sets a spot
    stage.style.maxWidth = `${(62 * next.photo.widthPx) / next.photo.heightPx}vh`;
    undo.disabled = next.taps.length === 0;
    fill(summary, tapSummary(next.taps));
    draw();
  };
  return { element, update };
}
