import type { Reading } from "../../vision/contract/index.ts";
import { button, el, fill, svgEl } from "../element.ts";
import type { FlatDrawing, LaunderContent } from "../flat-deck.ts";
import { bandsOf, flatLegend } from "../flat-legend.ts";
import { betweenNeighbours, type Frame, flatStage, handleNumber, stageWords } from "../flat-stage.ts";
import { launderTable } from "../launder-table.ts";
import { outletUnits } from "../reading-words.ts";
import { splitterList } from "../splitter-list.ts";
import { say, splitterName } from "../words.ts";

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

/**
 * Bands on the deck seen from above, the wash-water side at the top, with the outlet's ruler. A splitter is dragged along it, or
 * moved by its buttons and arrow keys, to see what launders would carry; nothing is changed by that.
 */
export function flatView({ reading, drawing, mirrored, tryPlaces, ...shown }: FlatShown): HTMLElement {
  const { lengthMm, widthMm, outletPath, splitters } = drawing;
  const units = outletUnits(reading);
  const stand = splitters.map(({ atMm }) => atMm);
  let places: readonly number[] = stand;

  const photo = el("img", { class: "flat-photo", alt: "", draggable: "false", hidden: true });
  const bands = bandsOf(drawing.svg);
  const stage = flatStage({
    lengthMm,
    widthMm,
    outletPath,
    mirrored,
    units,
    handles: splitters.map((splitter, i) => ({
      ...splitter,
      mark: handleNumber(i),
      label: say("flat.handle", { name: splitterName(splitter.name) }),
    })),
    places: () => places,
    move: (i, mm) => move(i, mm),
    nudge: (i, steps) => nudge(i, steps),
    below: [photo],
    onDeck: ({ width, height }: Frame) => {
      for (const [name, value] of Object.entries({ x: 0, y: 0, width, height }))
        bands.setAttribute(name, String(value));
      const ground = svgEl("rect", { x: 0, y: 0, width, height, class: "flat-ground" });
      return photo.hidden ? [ground, bands] : [bands];
    },
    over: () => [...dryWords(), ...pointers()],
    keepClear: () => [...stand, ...splitters.flatMap(({ suggestedMm }) => suggestedMm ?? [])],
  });
  void shown.photo.then((blob) => {
    if (!blob) return;
    photo.src = URL.createObjectURL(blob);
    photo.onload = () => URL.revokeObjectURL(photo.src);
    photo.hidden = false;
    draw();
  });

  // moving a splitter

  const move = (i: number, mm: number) =>
    put(places.map((was, k) => (k === i ? betweenNeighbours(splitters[i]!, places, i, mm, stage.line.lengthMm) : was)));
  const put = (next: readonly number[]) => {
    places = next;
    draw();
    ask();
  };
  const nudge = (i: number, steps: number) => move(i, places[i]! + steps * splitters[i]!.stepMm);

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
  const lines = splitterList(splitters, units, nudge);
  const content =
    splitters.length === 0
      ? el("p", {}, say("flat.noSplitters"))
      : el(
          "div",
          { class: "flat-launders" },
          el("p", {}, say("flat.how")),
          lines.element,
          told,
          table.element,
          el("div", { class: "choices" }, tryBest, back),
        );

  const isTry = () => places.some((mm, i) => mm !== stand[i]);
  function tell() {
    if (!carried) return;
    const moves = splitters.flatMap(({ name, atMm }, i) =>
      places[i] === atMm
        ? []
        : [say("flat.move", { name: splitterName(name), from: units.say(atMm), to: units.say(places[i]!) })],
    );
    fill(told, say(moves.length > 0 ? "flat.try" : "flat.asItStands", { moves: moves.join(", ") }));
    told.classList.toggle("is-try", moves.length > 0);
    table.update(carried, isTry() ? atStand : null);
  }

  // drawing

  function draw() {
    stage.draw();
    lines.update(
      splitters.map(({ suggestedMm, movable }, i) =>
        [
          say("flat.at", { place: units.say(places[i]!) }),
          suggestedMm !== null && say("flat.best", { place: units.say(suggestedMm) }),
          !movable && say("flat.fixed"),
        ]
          .filter(Boolean)
          .join(" · "),
      ),
    );
    back.disabled = !isTry();
    tryBest.hidden = best.every((mm, i) => mm === stand[i]);
  }
  const dryWords = () =>
    reading.dryPatches.map(({ centre }) =>
      stageWords(stage.toStage(centre), say("class.dry"), { class: "flat-words flat-dry" }),
    );
  /** Filled: where it stands. Hollow: the best place. */
  const pointers = () =>
    splitters.flatMap(({ atMm, suggestedMm }) => [
      ...(suggestedMm === null || suggestedMm === atMm ? [] : [pointer(suggestedMm, "flat-pointer flat-best")]),
      pointer(atMm, "flat-pointer"),
    ]);
  function pointer(mm: number, kind: string): SVGElement {
    const [tip, foot] = [stage.beside(mm, 1), stage.beside(mm, 15)];
    const [dx, dy] = [(foot[0] - tip[0]) * 0.45, (foot[1] - tip[1]) * 0.45];
    const points = [tip, [foot[0] - dy, foot[1] + dx], [foot[0] + dy, foot[1] - dx]];
    return svgEl("polygon", { points: points.join(" "), class: kind });
  }

  draw();
  ask();
  return el("div", { class: "flat" }, stage.element, flatLegend(reading, splitters), content);
}
