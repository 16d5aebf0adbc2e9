import type { Corner } from "../deck.ts";
import { button, el, svgEl } from "../element.ts";
import { spotStage } from "../spot-stage.ts";
import type { State } from "../state.ts";
import { say } from "../words.ts";

export interface TurnActions {
  /** The deck's first corner lies near here, full-size photo pixels. */
  readonly tap: (at: Corner) => void;
  readonly changeCorners: () => void;
  readonly anotherPhoto: () => void;
}

/** One tap where the photo does not tell which way round the deck lies; the photo is read again at once. */
export function turnQuestion(actions: TurnActions) {
  const stage = spotStage(say("turn.stage"), actions.tap);
  const element = el(
    "div",
    { class: "step taps-step" },
    el(
      "section",
      { class: "card" },
      el("h1", { tabindex: -1 }, say("turn.title")),
      el("p", {}, el("b", {}, say("turn.ask"))),
      el("p", { class: "hint-line" }, say("turn.how")),
      stage.element,
    ),
    el(
      "div",
      { class: "choices" },
      button(say("turn.corners"), actions.changeCorners, { class: "quiet" }),
      button(say("photo.another"), actions.anotherPhoto, { class: "quiet" }),
    ),
  );
  const update = ({ photo, firstCorner }: State) => {
    if (photo) stage.update(photo, (unit) => (firstCorner ? [ring(firstCorner, unit)] : []));
  };
  return { element, update };
}

const ring = ([cx, cy]: Corner, unit: number) =>
  svgEl(
    "g",
    {},
    svgEl("circle", { cx, cy, r: 20 * unit, class: "line-below", "stroke-width": 7 * unit }),
    svgEl("circle", { cx, cy, r: 20 * unit, class: "line", "stroke-width": 3 * unit }),
  );
