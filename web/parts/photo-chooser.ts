import { button, el, fileButton, fill } from "../element.ts";
import type { State } from "../state.ts";
import { inEnglish, safetyLines, say } from "../words.ts";

export interface PhotoActions {
  readonly photo: (file: File) => void;
  readonly sample: (name: string) => void;
  readonly stop: () => void;
}

/** Take with guidance, take, choose or drop a photo, or try one of the samples. `after` and `last` are places for other parts. */
export function photoChooser(actions: PhotoActions, openCamera: () => void) {
  // a page that came over an insecure line has no camera
  const guided = button(say("photo.guided"), openCamera, { id: "open-camera", hidden: !navigator.mediaDevices });
  const take = fileButton(
    say("photo.take"),
    { id: "photo-camera", accept: PHOTOS, capture: "environment" },
    actions.photo,
  );
  const choose = fileButton(say("photo.choose"), { id: "photo-file", accept: PHOTOS }, actions.photo);
  const waiting = el("p", { class: "waiting", role: "status" });
  const stop = button(say("photo.stop"), actions.stop, { class: "quiet", hidden: true });
  const samples = el("ul", { class: "samples" });
  const sampleBlock = el("section", { class: "card", hidden: true }, el("h2", {}, say("photo.samples")), samples);
  const after = el("div");
  const last = el("div");
  const element = el(
    "div",
    { class: "step photo-step" },
    el(
      "section",
      { class: "card drop", ondragover: allowDrop, ondrop: (event: DragEvent) => dropped(event, actions.photo) },
      el("h1", { tabindex: -1 }, say("photo.title")),
      el(
        "ul",
        { class: "tips" },
        el("li", {}, say("photo.tip.place")),
        el("li", {}, say("photo.tip.light")),
        el("li", {}, say("photo.tip.safe")),
      ),
      el("div", { class: "choices" }, guided, take, choose),
      el("p", { class: "hint-line wide-only" }, say("photo.drop")),
      waiting,
      stop,
    ),
    after,
    sampleBlock,
    el(
      "details",
      { class: "card" },
      el("summary", {}, say("safety.summary")),
      el("ul", {}, ...safetyLines().map((s) => el("li", {}, s))),
    ),
    last,
  );
  let shown: State["samples"] = [];
  const update = (state: State) => {
    waiting.textContent = state.busy ?? "";
    stop.hidden = state.busy === null;
    for (const input of element.querySelectorAll("input")) input.disabled = state.busy !== null;
    guided.disabled = state.busy !== null;
    for (const b of samples.querySelectorAll("button")) b.disabled = state.busy !== null;
    if (state.samples === shown) return;
    shown = state.samples;
    sampleBlock.hidden = shown.length === 0;
    fill(
      samples,
      ...shown.map((s) =>
        el(
          "li",
          {},
          button(s.title, () => actions.sample(s.name), { class: "quiet", ...inEnglish() }),
        ),
      ),
    );
  };
  return { element, after, last, update };
}

const PHOTOS = "image/*,.heic,.heif";

const allowDrop = (event: DragEvent) => event.preventDefault();
function dropped(event: DragEvent, take: (file: File) => void) {
  event.preventDefault();
  const [file] = event.dataTransfer?.files ?? [];
  if (file) take(file);
}
