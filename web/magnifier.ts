import type { PhotoReceipt } from "../vision/contract/index.ts";
import type { Corner } from "./deck.ts";
import { el } from "./element.ts";

const SIDE_PX = 132;
/** How much larger than on the stage. */
const ZOOM = 4;

/** A round glass in the upper corner away from the finger: the photo round the chosen corner, enlarged, with cross hairs. */
export function magnifier(photo: HTMLImageElement) {
  const ratio = Math.min(2, window.devicePixelRatio || 1);
  const element = el("canvas", {
    class: "glass",
    width: SIDE_PX * ratio,
    height: SIDE_PX * ratio,
    hidden: true,
    "aria-hidden": "true",
  });

  const show = ([x, y]: Corner, receipt: PhotoReceipt) => {
    const pen = element.getContext("2d");
    if (!pen || photo.naturalWidth === 0) return;
    const scale = photo.naturalWidth / receipt.widthPx;
    const half = SIDE_PX / 2;
    pen.setTransform(ratio, 0, 0, ratio, 0, 0);
    pen.fillStyle = "#4a4f55";
    pen.fillRect(0, 0, SIDE_PX, SIDE_PX);
    const seen = ((SIDE_PX / ZOOM) * photo.naturalWidth) / (photo.clientWidth || photo.naturalWidth);
    pen.drawImage(photo, x * scale - seen / 2, y * scale - seen / 2, seen, seen, 0, 0, SIDE_PX, SIDE_PX);
    for (const [colour, width] of [
      ["#101418", 4],
      ["#ffe14d", 1.6],
    ] as const) {
      pen.strokeStyle = colour;
      pen.lineWidth = width;
      pen.beginPath();
      pen.moveTo(half, 12);
      pen.lineTo(half, SIDE_PX - 12);
      pen.moveTo(12, half);
      pen.lineTo(SIDE_PX - 12, half);
      pen.stroke();
    }
    element.classList.toggle("at-right", x < receipt.widthPx / 2);
    element.hidden = false;
  };
  const hide = () => {
    element.hidden = true;
  };
  return { element, show, hide };
}
