import type { Corner } from "./deck.ts";
import { el, svgEl } from "./element.ts";
import { magnifier } from "./magnifier.ts";
import { ARROWS, type ShownPhoto } from "./state.ts";

/** Steps of the keyboard's cross, share of the photo's width: without and with Shift. */
const STEPS = [0.005, 0.05] as const;

/**
 * The photo, to show a spot on. A finger that stays down sees it enlarged and may slide; lifting it sets the spot. By keyboard:
 * arrow keys move a cross, Enter sets the spot.
 *
 * @param label  What a screen reader says of it, the keys too.
 * @param set    Hears the spot, full-size photo pixels.
 * `layer` is a place for what lies on the photo, below the marks.
 *
 * @param key    Other keys; true where one was used.
 */
export function spotStage(label: string, set: (at: Corner) => void, key: (name: string) => boolean = () => false) {
  const photo = el("img", { alt: "", class: "tap-photo", draggable: "false" });
  const marks = svgEl("svg", { class: "stage-lines", "aria-hidden": "true" });
  const glass = magnifier(photo);
  const layer = el("div", { class: "stage-layer" });
  const element = el(
    "div",
    {
      class: "stage tap-stage",
      tabindex: 0,
      role: "application",
      "aria-label": label,
      onpointerdown: (event: PointerEvent) => press(event),
      onkeydown: (event: KeyboardEvent) => pressKey(event),
      onfocus: () => element.matches(":focus-visible") && showCross(),
      onblur: () => hideCross(),
    },
    photo,
    layer,
    marks,
    glass.element,
  );

  let shown: ShownPhoto | null = null;
  /** What is drawn below the cross, given photo pixels for one screen pixel. */
  let drawn: (unit: number) => readonly SVGElement[] = () => [];
  /** Where the keyboard's or the finger's cross is, photo pixels; null when there is none. */
  let cross: Corner | null = null;
  let lastCross: Corner | null = null;

  const middle = (): Corner => [shown!.widthPx / 2, shown!.heightPx / 2];
  const inside = ([x, y]: Corner): Corner => {
    const round = (v: number, most: number) => Math.round(Math.max(0, Math.min(most, v)) * 10) / 10;
    return [round(x, shown!.widthPx), round(y, shown!.heightPx)];
  };
  const moveCross = (to: Corner) => {
    cross = inside(to);
    lastCross = cross;
    glass.show(cross, shown!);
    draw();
  };
  const showCross = () => shown && moveCross(lastCross ?? middle());
  const hideCross = () => {
    cross = null;
    glass.hide();
    draw();
  };

  function press(event: PointerEvent) {
    if (!event.isPrimary || event.button !== 0) return;
    element.setPointerCapture(event.pointerId);
    const at = (now: PointerEvent): Corner => {
      const box = element.getBoundingClientRect();
      const { widthPx, heightPx } = shown!;
      return [((now.clientX - box.left) / box.width) * widthPx, ((now.clientY - box.top) / box.height) * heightPx];
    };
    const over = new AbortController();
    const listen = (name: "pointermove" | "pointerup" | "pointercancel", act: (now: PointerEvent) => void) =>
      element.addEventListener(name, act, { signal: over.signal });
    const end = () => {
      over.abort();
      hideCross();
    };
    listen("pointermove", (now) => moveCross(at(now)));
    listen("pointercancel", end);
    listen("pointerup", (now) => {
      end();
      set(inside(at(now)));
    });
    moveCross(at(event));
  }
  function pressKey(event: KeyboardEvent) {
    if (event.altKey || event.ctrlKey || event.metaKey) return;
    const arrow = ARROWS[event.key];
    const from = cross ?? lastCross ?? middle();
    if (arrow) {
      const step = STEPS[event.shiftKey ? 1 : 0] * shown!.widthPx;
      moveCross([from[0] + arrow[0] * step, from[1] + arrow[1] * step]);
    } else if (event.key === "Enter" || event.key === " ") set(inside(from));
    else if (!key(event.key)) return;
    event.preventDefault();
  }

  const draw = () => {
    if (!shown || element.clientWidth === 0) return;
    const { widthPx, heightPx } = shown;
    const unit = widthPx / element.clientWidth;
    marks.setAttribute("viewBox", `0 0 ${widthPx} ${heightPx}`);
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
    marks.replaceChildren(...drawn(unit), ...lines);
  };
  new ResizeObserver(draw).observe(element);

  /** @param below  What to draw on the photo, given photo pixels for one screen pixel. */
  const update = (next: ShownPhoto, below: typeof drawn) => {
    if (next.id !== shown?.id) lastCross = null;
    shown = next;
    drawn = below;
    if (photo.getAttribute("src") !== next.previewUrl) photo.src = next.previewUrl;
    element.style.aspectRatio = `${next.widthPx} / ${next.heightPx}`;
    // a photo on end must leave room to scroll past it, since a finger on it sets a spot
    element.style.maxWidth = `${(62 * next.widthPx) / next.heightPx}vh`;
    draw();
  };
  return { element, layer, update };
}
