import type { Corner } from "../deck.ts";
import { cornerWords } from "../deck.ts";
import { button, el, fill, svgEl } from "../element.ts";
import { magnifier } from "../magnifier.ts";
import { quickLayer } from "../quick-layer.ts";
import { ARROWS, type State } from "../state.ts";
import { number, say } from "../words.ts";

export interface CornerActions {
  readonly move: (index: number, to: Corner) => void;
  /** A corner was let go: draw it to the photo's edges. @param handPx  How far off a hand may be, photo pixels. */
  readonly letGo: (index: number, handPx: number) => void;
  readonly putBack: () => void;
}
/** Margin round the photo on the stage, share of the stage: a corner may lie a little outside the photo. */
const MARGIN = 0.06;
const SIDES = ["high", "product", "low", "drive"] as const;

/** The photo with a handle at each corner of the deck's outline: drag, or choose one and press the arrow keys, or Enter to draw it to the edge. */
export function cornerEditor(actions: CornerActions) {
  const photo = el("img", { alt: say("corners.photo"), class: "stage-photo", draggable: "false" });
  const lines = svgEl("svg", { class: "stage-lines", "aria-hidden": "true" });
  const handles = el("div", { class: "handles" });
  const glass = magnifier(photo);
  const quick = quickLayer();
  const stage = el("div", { class: "stage corner-stage" }, photo, quick.element, lines, handles, glass.element);
  const list = el("ol", { class: "corner-list" });
  const drawnWords = el("p", { role: "status" });
  const putBack = button(say("corners.putBack"), actions.putBack, { class: "quiet" });
  const drawn = el("div", { class: "drawn" }, drawnWords, putBack);
  const element = el("div", { class: "corner-editor" }, stage, drawn, list);
  let state: State | null = null;
  let chosen = 0;

  const toStage = ([x, y]: Corner): Corner => [
    MARGIN + ((1 - 2 * MARGIN) * x) / state!.photo!.widthPx,
    MARGIN + ((1 - 2 * MARGIN) * y) / state!.photo!.heightPx,
  ];
  const clamp = ([x, y]: Corner): Corner => {
    const { widthPx, heightPx } = state!.photo!;
    const over = MARGIN * 0.8;
    const within = (v: number, size: number) => Math.max(-size * over, Math.min(size * (1 + over), v));
    return [Math.round(within(x, widthPx) * 10) / 10, Math.round(within(y, heightPx) * 10) / 10];
  };
  const choose = (index: number) => {
    chosen = index;
    glass.show(state!.corners[index]!, state!.photo!);
    mark();
  };
  const mark = () => {
    for (const [i, b] of [...list.querySelectorAll("button")].entries())
      b.setAttribute("aria-pressed", String(i === chosen));
  };

  /** Pixels of the photo for one pixel of the screen. */
  const photoPxPerScreenPx = () => state!.photo!.widthPx / (stage.clientWidth * (1 - 2 * MARGIN));
  function press(event: PointerEvent, index: number) {
    const handle = event.currentTarget as HTMLElement;
    handle.setPointerCapture(event.pointerId);
    const start = state!.corners[index]!;
    const [x0, y0] = [event.clientX, event.clientY];
    let moved = false;
    const move = (now: PointerEvent) => {
      moved = true;
      const scale = photoPxPerScreenPx();
      actions.move(index, clamp([start[0] + (now.clientX - x0) * scale, start[1] + (now.clientY - y0) * scale]));
    };
    const end = () => {
      handle.removeEventListener("pointermove", move);
      handle.classList.remove("dragged");
      if (moved) actions.letGo(index, photoPxPerScreenPx());
    };
    handle.classList.add("dragged");
    handle.addEventListener("pointermove", move);
    handle.addEventListener("pointerup", end, { once: true });
    handle.addEventListener("pointercancel", end, { once: true });
    choose(index);
  }
  function key(event: KeyboardEvent, index: number) {
    if (event.key === "Enter") actions.letGo(index, photoPxPerScreenPx());
    const arrow = ARROWS[event.key];
    if (!arrow) return;
    event.preventDefault();
    const step = event.shiftKey ? 10 : 1;
    const [x, y] = state!.corners[index]!;
    actions.move(index, clamp([x + arrow[0] * step, y + arrow[1] * step]));
  }

  /** Handles and list entries anew: the number of corners or their names changed. */
  function rebuild(words: readonly string[]) {
    fill(
      handles,
      ...words.map((_, i) =>
        el(
          "button",
          {
            type: "button",
            class: "handle",
            onpointerdown: (event: PointerEvent) => press(event, i),
            onkeydown: (event: KeyboardEvent) => key(event, i),
            onfocus: () => choose(i),
            onblur: () => glass.hide(),
          },
          el("span", {}, number(i + 1)),
        ),
      ),
    );
    const find = (i: number) => (handles.children[i] as HTMLElement).focus();
    fill(
      list,
      ...words.map((w, i) =>
        el(
          "li",
          {},
          button(say("corners.item", { number: number(i + 1), place: w }), () => find(i), {
            class: "quiet",
            tabindex: -1,
          }),
        ),
      ),
    );
  }

  const draw = () => {
    if (state?.photo && stage.clientWidth > 0) {
      drawLines(lines, state.corners.map(toStage), state, 1000 / stage.clientWidth);
    }
  };
  new ResizeObserver(draw).observe(stage);

  const handleWords = (index: number, place: string) => {
    const keys = say("corners.handle", { number: number(index + 1), place });
    return state?.device.readiness.state === "ready" ? `${keys} ${say("corners.enter")}` : keys;
  };
  let named = "";
  const update = (next: State) => {
    state = next;
    if (!next.photo) return;
    quick.update(next, next.result !== null);
    if (photo.getAttribute("src") !== next.photo.previewUrl) photo.src = next.photo.previewUrl;
    stage.style.aspectRatio = `${next.photo.widthPx} / ${next.photo.heightPx}`;
    // a photo on end must not run off a wide screen
    stage.style.maxWidth = `${(85 * next.photo.widthPx) / next.photo.heightPx}vh`;
    const words = cornerWords(next.deck);
    if (words.join() !== named) rebuild(words);
    named = words.join();
    const points = next.corners.map(toStage);
    for (const [i, [x, y]] of points.entries()) {
      const handle = handles.children[i] as HTMLElement;
      handle.style.left = `${x * 100}%`;
      handle.style.top = `${y * 100}%`;
      handle.setAttribute("aria-label", handleWords(i, words[i]!));
    }
    drawnWords.textContent = next.drawn
      ? say(next.drawn.from ? "corners.drawn" : "corners.noEdge", { number: number(next.drawn.index + 1) })
      : "";
    putBack.hidden = !next.drawn?.from;
    draw();
    if (handles.contains(document.activeElement)) glass.show(next.corners[chosen]!, next.photo);
    mark();
  };
  return { element, update };
}

/**
 * The outline, and on a four-cornered deck what each of its sides is, where the words fit between the handles.
 * @param unit  Drawing units for one screen pixel.
 */
function drawLines(svg: SVGSVGElement, points: readonly Corner[], { photo }: State, unit: number) {
  const height = (1000 * photo!.heightPx) / photo!.widthPx;
  svg.setAttribute("viewBox", `0 0 1000 ${height}`);
  const at = points.map(([x, y]): Corner => [x * 1000, y * height]);
  const d = `M${at.map(([x, y]) => `${x} ${y}`).join("L")}Z`;
  const line = (kind: string, px: number) => svgEl("path", { d, class: kind, "stroke-width": px * unit });
  const middle: Corner = [at.reduce((s, p) => s + p[0], 0) / at.length, at.reduce((s, p) => s + p[1], 0) / at.length];
  const sides =
    at.length === 4
      ? at.map((from, i) => sideWords(from, at[(i + 1) % 4]!, middle, say(`corners.side.${SIDES[i]!}`), unit))
      : [];
  svg.replaceChildren(line("line-below", 5), line("line", 2), ...sides.filter((s) => s !== null));
}

/** Words along a side, just inside the deck; null where the side is too short for them. */
function sideWords([x0, y0]: Corner, [x1, y1]: Corner, middle: Corner, words: string, unit: number) {
  const fontPx = 15;
  const length = Math.hypot(x1 - x0, y1 - y0) || 1;
  if (length / unit < words.length * fontPx * 0.58 + 84) return null;
  let turn = (Math.atan2(y1 - y0, x1 - x0) * 180) / Math.PI;
  if (turn > 90) turn -= 180;
  if (turn < -90) turn += 180;
  const inward = Math.sign((x1 - x0) * (middle[1] - y0) - (y1 - y0) * (middle[0] - x0)) * 16 * unit;
  const x = (x0 + x1) / 2 - ((y1 - y0) / length) * inward;
  const y = (y0 + y1) / 2 + ((x1 - x0) / length) * inward;
  const place = { x, y, dy: "0.35em", transform: `rotate(${turn} ${x} ${y})` };
  const look = { class: "side-words", "font-size": fontPx * unit, "stroke-width": 4 * unit };
  return svgEl("text", { ...place, ...look }, words);
}
