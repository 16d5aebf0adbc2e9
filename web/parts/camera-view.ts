import type { Sight } from "../camera-frames.ts";
import { button, el, fill, svgEl } from "../element.ts";
import { ISSUES } from "../reading-words.ts";
import { number, say } from "../words.ts";

export interface ShutterActions {
  readonly shoot: () => void;
  readonly close: () => void;
}

/** The camera's picture with the deck's outline in it, words on what to do better, and a big shutter. */
export function cameraView(stream: MediaStream, actions: ShutterActions) {
  const video = el("video", { autoplay: true, playsinline: true, muted: true, "aria-label": say("camera.picture") });
  video.muted = true; // the attribute counts in pages that were loaded so only
  const outline = svgEl("svg", { class: "camera-outline", viewBox: "0 0 1 1", preserveAspectRatio: "none" });
  outline.setAttribute("aria-hidden", "true");
  const told = el("p", { class: "camera-told", role: "status" }, say("camera.looking"));
  const sideways = el("p", { class: "hint-line", hidden: true }, say("camera.sideways"));
  const shutter = el(
    "button",
    { type: "button", class: "shutter", onclick: actions.shoot, "aria-label": say("camera.shoot") },
    el("span", { "aria-hidden": "true" }),
  );
  const stage = el("div", { class: "camera-stage" }, video, outline);
  const element = el(
    "div",
    { class: "step camera-step" },
    el(
      "section",
      { class: "card" },
      el("h1", { tabindex: -1 }, say("camera.title")),
      stage,
      told,
      el("div", { class: "camera-bar" }, shutter),
      sideways,
      el("p", { class: "hint-line" }, say("photo.tip.safe")),
    ),
    el("div", { class: "choices" }, button(say("setup.close"), actions.close, { class: "quiet" })),
  );
  video.onloadedmetadata = video.onresize = () => {
    const { videoWidth, videoHeight } = video;
    stage.style.aspectRatio = `${videoWidth} / ${videoHeight}`;
    stage.style.maxWidth = `${(52 * videoWidth) / videoHeight}dvh`;
    sideways.hidden = videoWidth >= videoHeight;
  };
  video.srcObject = stream;

  const put = (words: readonly string[], kind: "good" | "mend" | "") => {
    told.className = `camera-told ${kind}`;
    if (told.textContent !== words.join(" ")) fill(told, words.join(" "));
  };
  /** The most that can be mended first, and no more than two things at a time. */
  const tell = ({ corners, issues }: Sight) => {
    const words = ISSUES.filter((kind) => issues.includes(kind)).map((kind) => say(`issue.${kind}`));
    const isGood = words.length === 0;
    put(isGood ? [say("camera.good")] : words.slice(0, 2), isGood ? "good" : "mend");
    const points = corners?.map((corner) => corner.join(",")).join(" ");
    outline.replaceChildren(
      ...(points
        ? ["line-below", "line"].map((kind) =>
            svgEl("polygon", {
              points,
              class: isGood ? kind : `${kind} camera-mend`,
              "vector-effect": "non-scaling-stroke",
            }),
          )
        : []),
    );
  };
  const shooting = (frame: number, of: number) => {
    shutter.disabled = true;
    element.setAttribute("aria-busy", "true");
    put([say("camera.shooting", { frame: number(frame), of: number(of) })], "");
  };
  return {
    element,
    video,
    tell,
    shooting,
    merging: () => put([say("camera.merging")], ""),
    cannotGuide: () => put([say("camera.noGuide")], ""),
  };
}
