import { button, el } from "../element.ts";
import type { Picture } from "../state.ts";
import { say } from "../words.ts";

const ZOOMS = [100, 175, 275, 400];

/** The photo with the bands drawn on it; a tap opens it large, to be moved about. */
export function overlayPicture(picture: Picture): HTMLElement {
  const large = layers(picture);
  const pane = el(
    "div",
    { class: "zoom-pane", tabindex: 0, role: "group", "aria-label": say("picture.scroll") },
    large,
  );
  let zoom = 1;
  const dialog = el(
    "dialog",
    { class: "zoom", "aria-label": say("picture.large") },
    el(
      "div",
      { class: "zoom-bar" },
      button(say("picture.larger"), () => setZoom(zoom + 1), { class: "zoom-button" }),
      button(say("picture.smaller"), () => setZoom(zoom - 1), { class: "zoom-button quiet" }),
      button(say("picture.close"), () => dialog.close(), { class: "zoom-button quiet" }),
    ),
    pane,
  );
  /** Enlarge about the middle of what is seen. */
  const setZoom = (next: number) => {
    const [x, y] = [
      (pane.scrollLeft + pane.clientWidth / 2) / Math.max(1, pane.scrollWidth),
      (pane.scrollTop + pane.clientHeight / 2) / Math.max(1, pane.scrollHeight),
    ];
    zoom = Math.max(0, Math.min(ZOOMS.length - 1, next));
    large.style.width = `${ZOOMS[zoom]}%`;
    pane.scrollTo(x * pane.scrollWidth - pane.clientWidth / 2, y * pane.scrollHeight - pane.clientHeight / 2);
  };
  const open = () => {
    dialog.showModal();
    setZoom(window.innerWidth < 700 ? 1 : 0);
  };
  return el(
    "figure",
    { class: "card picture" },
    el(
      "button",
      { type: "button", class: "picture-button", onclick: open, "aria-label": say("picture.enlarge") },
      layers(picture),
    ),
    el("figcaption", {}, say("picture.tap")),
    dialog,
  );
}

/** The photo, and over it the drawing where that is not in the photo already. */
const layers = ({ photoUrl, drawingUrl }: Picture) =>
  el(
    "span",
    { class: "layers" },
    el("img", { src: photoUrl, alt: say("picture.alt"), class: "overlay" }),
    drawingUrl && el("img", { src: drawingUrl, alt: "", class: "drawing" }),
  );
