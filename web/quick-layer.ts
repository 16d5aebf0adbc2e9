import { el } from "./element.ts";
import type { State } from "./state.ts";

/** The quick look as a layer to lay on the photo: there while it is of the corners that stand. */
export function quickLayer() {
  const element = el("canvas", { class: "quick-look", "aria-hidden": "true", hidden: true });
  let drawn: State["quick"] = null;
  const update = ({ quick, corners }: State, isWanted = true) => {
    element.hidden = !isWanted || quick?.corners !== corners;
    if (!quick || quick === drawn) return;
    drawn = quick;
    const { width, height, rgba } = quick.look;
    Object.assign(element, { width, height });
    element.getContext("2d")?.putImageData(new ImageData(rgba, width, height), 0, 0);
  };
  return { element, update };
}
