import type { DeckFileInput } from "../../vision/contract/index.ts";
import { kindOf, type Line, linesOf, type Pair, pointsOf } from "../deck-draft.ts";
import { lineName } from "../deck-words.ts";
import { el, svgEl } from "../element.ts";
import { outletLine } from "../outlet-line.ts";
import { ARROWS } from "../state.ts";
import { number, say } from "../words.ts";

/** Room round the deck, px: handles stand on its corners. */
const ROOM_PX = 40;
/** Points are dragged to whole centimetres; arrow keys go as far, with Shift ten times. */
const STEP_MM = 10;

/** The deck as its file describes it so far, in deck coordinates; points of one line can be dragged, or moved by arrow keys. */
export function deckDrawing(move: (index: number, to: Pair) => void) {
  const drawing = svgEl("svg", { class: "deck-drawn", role: "img", "aria-label": say("editor.drawing") });
  const handles = el("div", { class: "deck-handles" });
  const element = el("div", { class: "deck-stage", dir: "ltr" }, drawing, handles);
  let draft: DeckFileInput | null = null;
  let line: Line = "outline";

  const scaleOf = ({ lengthMm }: DeckFileInput) => Math.max(0.01, (element.clientWidth - 2 * ROOM_PX) / lengthMm);
  function draw() {
    if (!draft || element.clientWidth === 0) return;
    const scale = scaleOf(draft);
    const place = ([x, y]: readonly [number, number]): Pair => [ROOM_PX + x * scale, ROOM_PX + y * scale];
    const { lengthMm, widthMm } = draft;
    const [width, height] = [element.clientWidth, widthMm * scale + 2 * ROOM_PX];
    element.style.height = `${height}px`;
    drawing.setAttribute("viewBox", `0 0 ${width} ${height}`);
    const path = (of: Line) => pointsOf(draft!, of).map(place).join(" ");
    const lines = (kind: "washPipes" | "smoothZones") => linesOf(draft!).filter((of) => kindOf(of)[0] === kind);
    const outlet = pointsOf(draft, "outletPath");
    const along = outlet.length > 1 ? outletLine(outlet, [lengthMm / 2, widthMm / 2]) : null;
    const splitters = (draft.splitters ?? []).filter(({ atMm }) => along && atMm >= 0 && atMm <= along.lengthMm);
    drawing.replaceChildren(
      svgEl("polygon", { points: path("outline"), class: "deck-outline" }),
      svgEl("polygon", { points: path("riffled"), class: "deck-riffled" }),
      ...lines("smoothZones").map((of) => svgEl("polygon", { points: path(of), class: "deck-smooth" })),
      svgEl("polyline", { points: path("feedBox"), class: "deck-feed" }),
      ...lines("washPipes").map((of) => svgEl("polyline", { points: path(of), class: "deck-pipe" })),
      svgEl("polyline", { points: path("outletPath"), class: "deck-outlet" }),
      ...splitters.map(({ atMm }) => {
        const [x, y] = place(along!.place(atMm).at);
        return svgEl("circle", { cx: x, cy: y, r: 7, class: "deck-splitter" });
      }),
      ...(draft.marks?.items ?? []).map(({ centre, sizeMm }) => {
        const [x, y] = place(centre);
        const side = sizeMm * scale;
        return svgEl("rect", { x: x - side / 2, y: y - side / 2, width: side, height: side, class: "deck-mark" });
      }),
      words(width / 2, 16, say("flat.high")),
      words(14, height / 2, say("corners.side.drive"), -90),
    );
    layHandles(place);
  }
  function layHandles(place: (at: readonly [number, number]) => Pair) {
    const points = pointsOf(draft!, line);
    while (handles.children.length > points.length) handles.lastChild!.remove();
    while (handles.children.length < points.length) handles.append(handle(handles.children.length));
    for (const [i, point] of points.entries()) {
      const one = handles.children[i] as HTMLElement;
      const [x, y] = place(point);
      one.style.left = `${x}px`;
      one.style.top = `${y}px`;
      const values = { line: lineName(line), nth: i + 1, x: number(point[0], 0, 1), y: number(point[1], 0, 1) };
      one.setAttribute("aria-label", say("editor.point", values));
      one.textContent = number(i + 1);
    }
  }
  const to = (index: number, [x, y]: Pair) => move(index, [Math.max(0, x), Math.max(0, y)]);
  const handle = (index: number) =>
    el("button", {
      type: "button",
      class: "deck-handle",
      onpointerdown: (event: PointerEvent) => (event.target as HTMLElement).setPointerCapture(event.pointerId),
      onpointermove: (event: PointerEvent) => {
        if (!draft || !(event.target as HTMLElement).hasPointerCapture(event.pointerId)) return;
        const box = element.getBoundingClientRect();
        const mm = (px: number) => Math.round((px - ROOM_PX) / scaleOf(draft!) / STEP_MM) * STEP_MM;
        to(index, [mm(event.clientX - box.left), mm(event.clientY - box.top)]);
      },
      onkeydown: (event: KeyboardEvent) => {
        const arrow = ARROWS[event.key];
        if (!arrow || !draft) return;
        event.preventDefault();
        const [x, y] = pointsOf(draft, line)[index]!;
        const by = STEP_MM * (event.shiftKey ? 10 : 1);
        to(index, [x + arrow[0] * by, y + arrow[1] * by]);
      },
    });
  new ResizeObserver(draw).observe(element);
  const update = (next: DeckFileInput, of: Line) => {
    draft = next;
    line = of;
    draw();
  };
  return { element, update };
}

const words = (x: number, y: number, said: string, turn = 0) =>
  svgEl("text", { x, y, dy: "0.35em", class: "flat-words", transform: `rotate(${turn} ${x} ${y})` }, said);
