import { button, el, fileButton, fill, plainFolded } from "../element.ts";
import type { State } from "../state.ts";
import { photoTitle, safetyLines, say } from "../words.ts";

export interface PhotoActions {
  readonly photo: (file: File) => void;
  readonly sample: (name: string) => void;
  readonly stop: () => void;
}

/** Take with guidance, take, choose or drop a photo, or try one of the samples. `after` and `last` are places for other parts. */
export function photoChooser(actions: PhotoActions, openCamera: () => void) {
  // a page that came over an insecure line has no camera
  const canGuide = Boolean(navigator.mediaDevices);
  const guided = button(say("photo.guided"), openCamera, {
    id: "open-camera",
    class: "main-button",
    hidden: !canGuide,
  });
  const take = fileButton(
    say("photo.take"),
    { id: "photo-camera", accept: PHOTOS, capture: "environment", quiet: canGuide },
    actions.photo,
  );
  const choose = fileButton(say("photo.choose"), { id: "photo-file", accept: PHOTOS, quiet: true }, actions.photo);
  const waiting = el("p", { class: "waiting", role: "status" });
  const stop = button(say("photo.stop"), actions.stop, { class: "quiet", hidden: true });
  const samples = el("div");
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
      el("div", { class: "choices photo-ways" }, guided, take, choose),
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
    const items = shown.map((sample) => sampleItem(sample, actions.sample));
    const others = items.slice(SHOWN_FIRST);
    fill(
      samples,
      el("ul", { class: "samples" }, ...items.slice(0, SHOWN_FIRST)),
      others.length > 0 && plainFolded(say("photo.moreSamples"), el("ul", { class: "samples" }, ...others)),
    );
  };
  return { element, after, last, update };
}

/** How many samples are in sight before the others are unfolded. */
const SHOWN_FIRST = 4;
function sampleItem({ name, title }: State["samples"][number], choose: (name: string) => void): HTMLElement {
  const view = el("img", { src: `./sample-views/${name}.webp`, alt: "", loading: "lazy", width: 340, height: 204 });
  view.addEventListener("error", () => view.remove()); // a server may have samples of its own
  const { words, attributes } = photoTitle({ id: name, title });
  const shown = el("span", attributes, words);
  return el("li", {}, el("button", { type: "button", class: "quiet", onclick: () => choose(name) }, view, shown));
}

const PHOTOS = "image/*,.heic,.heif";

const allowDrop = (event: DragEvent) => event.preventDefault();
function dropped(event: DragEvent, take: (file: File) => void) {
  event.preventDefault();
  const [file] = event.dataTransfer?.files ?? [];
  if (file) take(file);
}
