import type { NewReadingInput } from "../vision/contract/index.ts";
import { ApiProblem, fetchSample, listSamples, previewUrl, readingUrl, readPhoto, sendPhoto } from "./api.ts";
import { deckToSend, parseDeckFile } from "./deck.ts";
import { button, el, fill } from "./element.ts";
import { qualityNotes, safetyNotes } from "./parts/cautions.ts";
import { cornerEditor } from "./parts/corner-editor.ts";
import { deckForm } from "./parts/deck-form.ts";
import { nextStep, otherHints } from "./parts/next-step.ts";
import { numbers } from "./parts/numbers.ts";
import { overlayPicture } from "./parts/overlay-picture.ts";
import { photoChooser } from "./parts/photo-chooser.ts";
import { problemNotice } from "./parts/problem-notice.ts";
import { progress } from "./parts/progress.ts";
import { resultView } from "./parts/result-view.ts";
import { settingsForm } from "./parts/settings-form.ts";
import { tapEditor } from "./parts/tap-editor.ts";
import * as steps from "./state.ts";

/** Wires state, parts and server; decides nothing itself. */

let state = steps.FIRST_STATE;
const show = (next: steps.State) => {
  const moved = next.step !== state.step;
  state = next;
  render(moved);
};

/** A newer piece of work replaces an older; stopping it is no failure. */
let running: AbortController | null = null;
async function work(job: (signal: AbortSignal) => Promise<void>) {
  running?.abort();
  const mine = new AbortController();
  running = mine;
  try {
    await job(mine.signal);
  } catch (error) {
    if (mine.signal.aborted) return;
    const known = error instanceof ApiProblem ? error : null;
    if (!known) console.error(error);
    show(
      steps.fail(state, {
        title: known?.title ?? "This page made a mistake.",
        detail: known?.detail ?? "Try again. If it stays, load the page again; your photo file is not changed.",
      }),
    );
  }
}
const stop = () => {
  running?.abort();
  show(steps.stopWaiting(state));
};

// a page that is closed or left does not wait any more; should it come back, it stands at the corners
window.addEventListener("pagehide", () => {
  if (state.step === "reading") stop();
});

/** The photo last sent, to send it again should the server have lost it. */
let lastSent: { readonly photo: Blob; readonly name: string } | null = null;
const send = (photo: Blob, name: string, signal: AbortSignal) => {
  lastSent = { photo, name };
  return sendPhoto(photo, name, signal);
};
const sendFile = (photo: Blob, name: string) =>
  work(async (signal) => {
    show(steps.waitFor(state, "Sending the photo…"));
    show(steps.takePhoto(state, await send(photo, name, signal)));
  });
const trySample = (name: string) =>
  work(async (signal) => {
    const sample = state.samples.find((s) => s.name === name)!;
    show(steps.waitFor(state, "Fetching the sample photo…"));
    const photo = await fetchSample(sample.photoUrl, signal);
    show(steps.takePhoto(state, await send(photo, sample.photoUrl.split("/").at(-1)!, signal), sample));
  });
const loadDeckFile = async (file: File) => {
  try {
    show(steps.describeDeck(state, { ...state.deck, file: parseDeckFile(await file.text()) }));
  } catch (error) {
    show(steps.fail(state, { title: "The deck file was not loaded.", detail: (error as Error).message }));
  }
};
const read = () => {
  const fault = form.fault();
  if (fault) return show(steps.fail(state, { title: "The deck's size is not clear.", detail: fault }));
  const wrong = settings.fault();
  if (wrong) return show(steps.fail(state, { title: "What the controls stand at is not clear.", detail: wrong }));
  const deck = deckToSend(state.deck);
  // corners nobody set are a guess to drag from: the program then finds the deck itself
  const corners = state.cornersSet ? { corners: state.corners.map(([x, y]): [number, number] => [x, y]) } : null;
  const { taps } = state;
  const request: NewReadingInput = {
    photo: state.photo!.id,
    corners,
    ...(deck && { deck }),
    ...(taps.length > 0 && { taps: { taps: [...taps] } }),
    ...(Object.keys(state.settings).length > 0 && { settings: state.settings }),
  };
  void work(async (signal) => {
    show(steps.startReading(state));
    const ask = () => readPhoto(request, (stage) => show(steps.reachStage(state, stage)), signal);
    const result = await ask().catch(async (error: unknown) => {
      if (!(error instanceof ApiProblem && error.code === "not-found" && lastSent)) throw error;
      await sendPhoto(lastSent.photo, lastSent.name, signal);
      return ask();
    });
    show(steps.showResult(state, result));
  });
};

const chooser = photoChooser({
  photo: (file) => void sendFile(file, file.name),
  sample: (name) => void trySample(name),
  stop,
});
const editor = cornerEditor({ move: (index, to) => show(steps.moveCorner(state, index, to)) });
const form = deckForm({
  deck: (entry) => show(steps.describeDeck(state, entry)),
  deckFile: (file) => void loadDeckFile(file),
});
const settings = settingsForm((entered) => show(steps.setSettings(state, entered)));
const tapper = tapEditor({
  add: (tap) => show(steps.addTap(state, tap)),
  undo: () => show(steps.undoTap(state)),
});
const tapsStep = el(
  "div",
  { class: "step taps-step" },
  el(
    "section",
    { class: "card" },
    el("h1", { tabindex: -1 }, "What do you see?"),
    el(
      "p",
      {},
      "Only spots you are sure of; two or three of each band help most. Choose what it is, then tap the spot.",
    ),
    tapper.element,
  ),
  el(
    "div",
    { class: "choices go" },
    button("Read the photo", read, { class: "main-button" }),
    button("Back to the corners", () => show(steps.changeCorners(state)), { class: "quiet" }),
  ),
);
const cornersAdvice = el("p", { role: "status" });
const letFind = button("Let the program find the deck", () => show(steps.layCornersAnew(state)), { class: "quiet" });
const cornersStep = el(
  "div",
  { class: "step corners-step" },
  el(
    "section",
    { class: "card" },
    el("h1", { tabindex: -1 }, "Where is the deck?"),
    cornersAdvice,
    button("Read the photo", read, { class: "main-button" }),
    editor.element,
    letFind,
  ),
  el(
    "div",
    { class: "side" },
    form.element,
    settings.element,
    el(
      "div",
      { class: "choices go" },
      button("Tap what you see first (optional)", () => show(steps.sayTaps(state)), { class: "quiet" }),
      button("Another photo", () => show(steps.anotherPhoto(state)), { class: "quiet" }),
    ),
  ),
);
const progressPart = progress({ stop });
const problem = problemNotice();
const body = el("div", {});
const page = document.querySelector("#page")!;
fill(page, problem.element, body);

const CORNERS_ADVICE = {
  free: "The program will look for it. If it finds it wrongly, drag each number onto its corner of the deck, or choose one and press the arrow keys.",
  set: "Each number stands on its corner of the deck? Drag those that do not, or choose one and press the arrow keys.",
} as const;

let shownResult: steps.State["result"] = null;
function render(moved: boolean) {
  problem.update(state);
  chooser.update(state);
  form.update(state);
  settings.update(state);
  if (state.photo) {
    editor.update(state, previewUrl(state.photo.id));
    tapper.update(state, previewUrl(state.photo.id));
  }
  cornersAdvice.textContent = CORNERS_ADVICE[state.cornersSet ? "set" : "free"];
  letFind.hidden = !state.cornersSet;
  progressPart.update(state);
  if (!moved && state.result === shownResult && body.hasChildNodes()) return;
  shownResult = state.result;
  document.body.dataset.step = state.step;
  fill(body, stepElement());
  if (!moved) return;
  window.scrollTo(0, 0);
  body.querySelector<HTMLElement>("h1")?.focus();
}

function stepElement(): HTMLElement {
  if (state.step === "photo") return chooser.element;
  if (state.step === "corners") return cornersStep;
  if (state.step === "taps") return tapsStep;
  if (state.step === "reading" || !state.result) return progressPart.element;
  const { id, reading } = state.result;
  const stem = reading.photo.name.replace(/\.[^.]+$/, "") || "photo";
  const usable = reading.quality.usable;
  const words = "Your photo with the dense, middling and light bands, the outlet ruler and the splitters drawn on it";
  return resultView(
    {
      next: nextStep(reading),
      picture: usable ? overlayPicture(readingUrl(id, "/overlay.jpg"), words) : null,
      rest: [qualityNotes(reading), numbers(reading), otherHints(reading), safetyNotes()],
      downloads: [
        { words: "Reading (JSON)", url: readingUrl(id), fileName: `${stem}.reading.json` },
        ...(usable
          ? [
              {
                words: "Picture with bands (JPEG)",
                url: readingUrl(id, "/overlay.jpg"),
                fileName: `${stem}.overlay.jpg`,
              },
              { words: "Classes (PNG)", url: readingUrl(id, "/classes.png"), fileName: `${stem}.classes.png` },
            ]
          : []),
      ],
    },
    {
      changeCorners: () => show(steps.changeCorners(state)),
      sayTaps: () => show(steps.sayTaps(state)),
      anotherPhoto: () => show(steps.anotherPhoto(state)),
    },
  );
}

render(false);
// samples are an extra: without them the page works all the same
listSamples().then(
  (samples) => show({ ...state, samples }),
  () => {},
);
