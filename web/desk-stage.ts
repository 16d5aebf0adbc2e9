import { CLASS_COLOURS } from "./class-colours.ts";
import type { DeskDraft } from "./desk-draft.ts";
import { el, svgEl } from "./element.ts";
import { flatStage, handleNumber, type Point } from "./flat-stage.ts";
import type { outletUnits } from "./reading-words.ts";
import { ARROWS } from "./state.ts";
import { say } from "./words.ts";

/** The deck of a reading under correction: photo laid flat, areas over it, and the tool at hand, by pointer or keys. */

export type DeskTool = "look" | "edges" | "paint" | "dry" | "splitters";
export interface DeskSplitter {
  readonly name: string;
  readonly minMm: number;
  readonly maxMm: number;
  readonly stepMm: number;
  readonly movable: boolean;
}
export interface StageDeck {
  readonly lengthMm: number;
  readonly widthMm: number;
  readonly outletPath: readonly Point[];
  readonly mirrored: boolean;
  readonly splitters: readonly DeskSplitter[];
}
/** What is in the hand. */
export interface InHand {
  readonly tool: DeskTool;
  /** A class's number, or AS_READ. */
  readonly paint: number;
  readonly radiusMm: number;
}

const EDGE_STEP_MM = 1;
const ZOOMS = [1, 1.5, 2, 3, 4, 6, 8];
/** The cursor moves by this with an arrow key, mm; with Shift further. */
const CURSOR_MM = 10;
/** A lasso takes a corner where it has moved this far, mm. */
const LASSO_MM = 8;

export function deskStage(
  draft: DeskDraft,
  deck: StageDeck,
  units: ReturnType<typeof outletUnits>,
  inHand: () => InHand,
  changed: () => void,
) {
  const photo = el("canvas", { class: "flat-photo", "aria-hidden": "true" });
  const areas = el("canvas", {
    class: "flat-photo desk-areas",
    width: draft.grid.columns,
    height: draft.grid.rows,
    "aria-hidden": "true",
  });
  const element = el("div", {
    class: "desk-scroll",
    tabindex: 0,
    role: "application",
    "aria-label": say("desk.keys"),
    onkeydown: (event: KeyboardEvent) => key(event),
  });
  const image = new ImageData(draft.grid.columns, draft.grid.rows);
  let zoom = 0;
  let cursor: Point = [deck.lengthMm / 2, deck.widthMm / 2];
  let lasso: Point[] = [];

  // the handles are those of the tool in the hand

  function handles() {
    const { tool } = inHand();
    if (tool === "edges") {
      return draft.marks().edges.map(({ kind, edge }) => ({
        mark: edge === "from" ? "⊢" : "⊣",
        label: say("desk.edge", {
          edge: say(edge === "from" ? "lesson.from" : "lesson.to", { band: say(`class.${kind}`) }),
        }),
        minMm: 0,
        maxMm: stageLength(),
        movable: true,
        class: `desk-${kind}`,
      }));
    }
    if (tool !== "splitters") return [];
    return deck.splitters.map((one, i) => ({
      ...one,
      mark: handleNumber(i),
      label: say("flat.handle", { name: one.name }),
    }));
  }
  const stageLength = () =>
    deck.outletPath.slice(1).reduce((sum, [x, y], i) => {
      const [fromX, fromY] = deck.outletPath[i]!;
      return sum + Math.hypot(x - fromX, y - fromY);
    }, 0);
  const places = () => {
    const { edges, splittersMm } = draft.marks();
    return inHand().tool === "edges" ? edges.map(({ atMm }) => atMm) : inHand().tool === "splitters" ? splittersMm : [];
  };
  function moveTo(i: number, mm: number) {
    const { edges, splittersMm, ...rest } = draft.marks();
    const isEdge = inHand().tool === "edges";
    const limits = isEdge ? { minMm: 0, maxMm: stageLength() } : deck.splitters[i]!;
    const at = Math.round(Math.max(limits.minMm, Math.min(limits.maxMm, mm)));
    draft.setMarks(
      isEdge
        ? { ...rest, splittersMm, edges: edges.map((one, k) => (k === i ? { ...one, atMm: at } : one)) }
        : { ...rest, edges, splittersMm: splittersMm.map((was, k) => (k === i ? at : was)) },
      `${inHand().tool} ${i}`,
    );
    stage.draw();
    changed();
  }
  const stepOf = (i: number) => (inHand().tool === "edges" ? EDGE_STEP_MM : deck.splitters[i]!.stepMm);
  function lay() {
    const made = flatStage({
      ...deck,
      units,
      handles: handles(),
      places,
      move: moveTo,
      nudge: (i, steps) => moveTo(i, places()[i]! + steps * stepOf(i)),
      below: [photo, areas],
      onDeck: ({ scale }) => [...patches(scale), ...lassoLine(scale), ...ring(scale)],
    });
    made.element.classList.add(`desk-${inHand().tool}`);
    made.element.style.width = `${100 * ZOOMS[zoom]!}%`;
    made.element.addEventListener("pointerdown", press);
    for (const end of ["pointerup", "keyup"]) made.element.addEventListener(end, () => settle());
    element.replaceChildren(made.element);
    return made;
  }
  function settle() {
    draft.settle();
    changed();
  }

  // brush and lasso

  function press(event: PointerEvent) {
    const { tool } = inHand();
    if (!event.isPrimary || event.button !== 0 || (tool !== "paint" && tool !== "dry")) return;
    event.preventDefault();
    element.focus({ preventScroll: true });
    const at = event.currentTarget as HTMLElement;
    at.setPointerCapture(event.pointerId);
    const over = new AbortController();
    if (tool === "dry") lasso = [];
    goTo(stage.pointedAt(event), tool);
    at.addEventListener("pointermove", (moved) => goTo(stage.pointedAt(moved), tool), { signal: over.signal });
    for (const end of ["pointerup", "pointercancel"] as const) {
      at.addEventListener(
        end,
        () => {
          over.abort();
          if (tool === "dry") closePatch();
          else draft.endStroke();
          changed();
        },
        { signal: over.signal },
      );
    }
  }
  function goTo(at: Point, tool: "paint" | "dry") {
    cursor = at;
    const { radiusMm, paint } = inHand();
    if (tool === "paint") {
      draft.paintTo(at, radiusMm, paint);
      drawAreas();
    } else {
      const last = lasso.at(-1);
      if (!last || Math.hypot(at[0] - last[0], at[1] - last[1]) >= LASSO_MM) lasso.push(at);
    }
    stage.draw();
  }
  /** The lasso's line becomes a dry patch, where it encloses something. */
  function closePatch() {
    const inside = ([x, y]: Point): Point => [
      Math.round(10 * Math.max(0, Math.min(deck.lengthMm, x))) / 10,
      Math.round(10 * Math.max(0, Math.min(deck.widthMm, y))) / 10,
    ];
    const outline = lasso.map(inside);
    lasso = [];
    const { patches: all, ...rest } = draft.marks();
    if (outline.length > 2) draft.setMarks({ ...rest, patches: [...all, { outline }] });
    stage.draw();
    changed();
  }

  // keys

  function key(event: KeyboardEvent) {
    if (event.target !== element || event.ctrlKey || event.metaKey || event.altKey) return;
    const { tool, radiusMm, paint } = inHand();
    const draws = tool === "paint" || tool === "dry";
    const arrow = ARROWS[event.key];
    if (arrow && draws) {
      const by = CURSOR_MM * (event.shiftKey ? 5 : 1);
      const x = deck.mirrored ? -arrow[0] : arrow[0];
      cursor = [
        Math.max(0, Math.min(deck.lengthMm, cursor[0] + x * by)),
        Math.max(0, Math.min(deck.widthMm, cursor[1] + arrow[1] * by)),
      ];
      stage.draw();
    } else if (event.key === " " && tool === "paint") {
      draft.paintTo(cursor, radiusMm, paint);
      draft.endStroke();
      refresh();
    } else if (event.key === " " && tool === "dry") {
      lasso.push(cursor);
      stage.draw();
    } else if (event.key === "Enter" && tool === "dry") closePatch();
    else if (event.key === "Escape" && lasso.length > 0) {
      lasso = [];
      stage.draw();
    } else return;
    event.preventDefault();
    changed();
  }

  // drawing

  function drawAreas() {
    for (const [i, value] of draft.cells.entries()) {
      const [red, green, blue] = CLASS_COLOURS[value] ?? CLASS_COLOURS[0];
      image.data.set([red, green, blue, value === 1 ? 0 : 255], 4 * i);
    }
    areas.getContext("2d")!.putImageData(image, 0, 0);
  }
  const line = (points: readonly Point[], scale: number) =>
    points.map(([x, y]) => `${x * scale},${y * scale}`).join(" ");
  const patches = (scale: number) =>
    draft.marks().patches.map(({ outline }) => svgEl("polygon", { points: line(outline, scale), class: "desk-patch" }));
  const lassoLine = (scale: number) =>
    lasso.length > 0 ? [svgEl("polyline", { points: line(lasso, scale), class: "desk-lasso" })] : [];
  const ring = (scale: number) => {
    const { tool, radiusMm } = inHand();
    if (tool !== "paint" && tool !== "dry") return [];
    const at = { cx: cursor[0] * scale, cy: cursor[1] * scale, r: tool === "paint" ? radiusMm * scale : 4 };
    return ["desk-ring-below", "desk-ring"].map((kind) => svgEl("circle", { ...at, class: kind }));
  };
  function refresh() {
    drawAreas();
    stage.draw();
    changed();
  }
  /** Larger or smaller, about the middle of what is seen. */
  function zoomBy(steps: number) {
    const next = Math.max(0, Math.min(ZOOMS.length - 1, zoom + steps));
    const [x, y] = [
      (element.scrollLeft + element.clientWidth / 2) / element.scrollWidth,
      (element.scrollTop + element.clientHeight / 2) / element.scrollHeight,
    ];
    zoom = next;
    stage.element.style.width = `${100 * ZOOMS[zoom]!}%`;
    stage.draw();
    element.scrollLeft = x * element.scrollWidth - element.clientWidth / 2;
    element.scrollTop = y * element.scrollHeight - element.clientHeight / 2;
    return ZOOMS[zoom]!;
  }
  let stage = lay();
  drawAreas();
  return {
    element,
    refresh,
    zoomBy,
    /** The tool changed, or edges came or went. */
    relay: () => {
      lasso = [];
      stage = lay();
      stage.draw();
    },
    showPhoto: (flat: HTMLCanvasElement) => {
      [photo.width, photo.height] = [flat.width, flat.height];
      photo.getContext("2d")!.drawImage(flat, 0, 0);
    },
    showAreas: (isShown: boolean) => {
      areas.hidden = !isShown;
    },
  };
}
