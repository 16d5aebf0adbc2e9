import { button, el } from "../element.ts";

const ZOOMS = [100, 175, 275, 400];

/** The photo with the bands drawn on it; a tap opens it large, to be moved about. */
export function overlayPicture(src: string, words: string): HTMLElement {
  const large = el("img", { src, alt: words });
  const pane = el(
    "div",
    { class: "zoom-pane", tabindex: 0, role: "group", "aria-label": "Large picture; scroll to move" },
    large,
  );
  let zoom = 1;
  const dialog = el(
    "dialog",
    { class: "zoom", "aria-label": "Picture of the bands, large" },
    el(
      "div",
      { class: "zoom-bar" },
      button("Larger", () => setZoom(zoom + 1), { class: "zoom-button" }),
      button("Smaller", () => setZoom(zoom - 1), { class: "zoom-button quiet" }),
      button("Close", () => dialog.close(), { class: "zoom-button quiet" }),
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
  const picture = el("img", { src, alt: words, class: "overlay" });
  return el(
    "figure",
    { class: "card picture" },
    el(
      "button",
      { type: "button", class: "picture-button", onclick: open, "aria-label": "Enlarge the picture" },
      picture,
    ),
    el("figcaption", {}, "Tap the picture to enlarge it."),
    dialog,
  );
}
