import { drawnPicture } from "./drawn-picture.ts";
import { button, el, fileButton, fill, rowButton } from "./element.ts";
import type { PageName, Pages } from "./pages.ts";
import { qualityNotes, safetyNotes } from "./parts/cautions.ts";
import { type CompareActions, comparison } from "./parts/comparison.ts";
import { type CornerActions, cornerEditor } from "./parts/corner-editor.ts";
import { type DeckActions, deckForm } from "./parts/deck-form.ts";
import { type KeptActions, keptList } from "./parts/kept-list.ts";
import { languagePicker } from "./parts/language-picker.ts";
import { type MaterialActions, materialForm } from "./parts/material-form.ts";
import { nextStep, otherHints } from "./parts/next-step.ts";
import { numbers } from "./parts/numbers.ts";
import { overlayPicture } from "./parts/overlay-picture.ts";
import { type PhotoActions, photoChooser } from "./parts/photo-chooser.ts";
import { pictureViews } from "./parts/picture-views.ts";
import { problemNotice } from "./parts/problem-notice.ts";
import { progress } from "./parts/progress.ts";
import { type ReadinessActions, readiness } from "./parts/readiness.ts";
import { type Download, type ResultActions, resultView } from "./parts/result-view.ts";
import { type SettingsActions, settingsForm } from "./parts/settings-form.ts";
import { type TapActions, tapEditor } from "./parts/tap-editor.ts";
import { type TurnActions, turnQuestion } from "./parts/turn-question.ts";
import { unitPicker } from "./parts/unit-picker.ts";
import { waitingLine } from "./parts/waiting-line.ts";
import { comparable, type Result, type State } from "./state.ts";
import { type Key, say } from "./words.ts";

/** What is on the screen, made of parts in the language spoken; made anew when the language changes. */

export interface Actions {
  readonly photo: PhotoActions;
  readonly corner: CornerActions;
  readonly deck: DeckActions;
  readonly settings: SettingsActions;
  readonly material: MaterialActions;
  readonly tap: TapActions;
  readonly turn: TurnActions;
  readonly kept: KeptActions;
  readonly camera: { readonly open: () => void; readonly screen: () => HTMLElement };
  readonly openComparison: () => void;
  readonly comparison: CompareActions;
  readonly pages: Pick<Pages, "open" | "element">;
  readonly readiness: ReadinessActions;
  readonly result: ResultActions;
  /** The reading on the flat deck; null where it could not be drawn. */
  readonly flat: () => Promise<HTMLElement | null>;
  /** The reading on the screen to be taken away; null where that could not be made. */
  readonly takeAway: (as: "report" | "case") => Promise<Blob | null>;
  readonly caseFile: (file: File) => void;
  /** What people far away say of the result, and decks that look like it; it fills when the server answers. */
  readonly beside: () => HTMLElement;
  /** To the screen before. */
  readonly back: () => void;
  readonly language: (code: string) => void;
  readonly units: (us: boolean) => void;
  readonly read: () => void;
  readonly letFind: () => void;
  readonly stop: () => void;
}

export type Screen = ReturnType<typeof buildScreen>;
export function buildScreen(actions: Actions) {
  const problem = problemNotice();
  const waiting = waitingLine();
  const chooser = photoChooser(actions.photo, actions.camera.open);
  const kept = keptList(actions.kept);
  const ready = readiness(actions.readiness);
  const editor = cornerEditor(actions.corner);
  const deck = deckForm(actions.deck);
  const settings = settingsForm(actions.settings);
  const material = materialForm(actions.material);
  const tapper = tapEditor(actions.tap);
  const turn = turnQuestion(actions.turn);
  const progressPart = progress({ stop: actions.stop });

  const photoStep = chooser.element;
  const compare = button(say("compare.open"), actions.openComparison, { class: "quiet" });
  kept.element.append(compare);
  chooser.after.append(kept.element);
  const compareStep = comparison(actions.comparison);
  const pageRow = (page: PageName, title: Key, what: Key | null) =>
    rowButton(say(title), what && say(what), () => actions.pages.open(page), `open-${page}`);
  chooser.last.append(
    el(
      "section",
      { class: "card" },
      el("h2", {}, say("page.atTable")),
      el(
        "ul",
        { class: "rows" },
        pageRow("set-up", "setup.title", "setup.what"),
        pageRow("runs", "run.title", "run.what"),
        pageRow("history", "history.title", "history.what"),
      ),
    ),
    el(
      "section",
      { class: "card" },
      el("h2", {}, say("far.title")),
      el("p", { class: "hint-line" }, say("far.what")),
      el(
        "ul",
        { class: "rows" },
        pageRow("gallery", "gallery.title", null),
        pageRow("lesson", "lesson.title", null),
        pageRow("practice", "practice.title", null),
        pageRow("review", "review.title", null),
      ),
    ),
    el(
      "section",
      { class: "card" },
      el("h2", {}, say("case.title")),
      el("p", { class: "hint-line" }, say("case.explain")),
      caseChooser(actions.caseFile),
    ),
    ready.element,
  );
  const readButton = () => button(say("corners.read"), actions.read, { class: "main-button" });
  const cornersAdvice = el("p", { role: "status" });
  const letFind = button(say("corners.find"), actions.letFind, { class: "quiet" });
  const cornersStep = el(
    "div",
    { class: "step corners-step" },
    el(
      "section",
      { class: "card" },
      el("h1", { tabindex: -1 }, say("corners.title")),
      cornersAdvice,
      readButton(),
      editor.element,
      letFind,
    ),
    el(
      "div",
      { class: "side" },
      deck.element,
      settings.element,
      material.element,
      el(
        "div",
        { class: "choices go" },
        button(say("corners.tapFirst"), actions.result.sayTaps, { class: "quiet" }),
        button(say("photo.another"), actions.result.anotherPhoto, { class: "quiet" }),
      ),
    ),
  );
  const tapsStep = el(
    "div",
    { class: "step taps-step" },
    el(
      "section",
      { class: "card" },
      el("h1", { tabindex: -1 }, say("taps.title")),
      el("p", {}, say("taps.how")),
      tapper.element,
    ),
    el(
      "div",
      { class: "choices go" },
      readButton(),
      button(say("taps.back"), actions.result.changeCorners, { class: "quiet" }),
    ),
  );

  const body = el("div");
  fill(document.querySelector("#page")!, problem.element, body);
  fill(document.querySelector(".lead")!, say("page.lead"));
  fill(document.querySelector("#choices")!, languagePicker(actions.language), unitPicker(actions.units));
  fill(document.querySelector("#waits")!, waiting.element);
  const back = button(say("page.back"), actions.back, { class: "back" });
  fill(document.querySelector("#back")!, back);

  let shownResult: Result | null = null;
  /** @param moved  Whether another step is on the screen now. */
  function update(state: State, moved: boolean): void {
    for (const part of [problem, waiting, chooser, kept, ready, deck, settings, material, progressPart])
      part.update(state);
    compare.hidden = comparable(state.device.kept).length < 2 || state.device.readiness.state !== "ready";
    compare.disabled = state.busy !== null;
    compareStep.update(state);
    if (state.photo) {
      editor.update(state);
      tapper.update(state);
      turn.update(state);
    }
    cornersAdvice.textContent = say(state.cornersSet ? "corners.set" : "corners.free");
    letFind.hidden = !state.cornersSet;
    back.hidden = state.step === "photo";
    if (!moved && state.result === shownResult && body.hasChildNodes()) return;
    shownResult = state.result;
    document.body.dataset.step = state.step;
    fill(body, stepElement(state));
    if (!moved) return;
    window.scrollTo(0, 0);
    body.querySelector<HTMLElement>("h1")?.focus();
  }

  function stepElement({ step, result }: State): HTMLElement {
    if (step === "photo") return photoStep;
    if (step === "corners") return cornersStep;
    if (step === "taps") return tapsStep;
    if (step === "turn") return turn.element;
    if (step === "compare") return compareStep.element;
    if (step === "camera") return actions.camera.screen();
    if (step === "reading") return progressPart.element;
    if (step === "result") return resultElement(result!, actions);
    return actions.pages.element();
  }
  return { update, deckFault: deck.fault, settingsFault: () => settings.fault() ?? material.fault() };
}

function resultElement(result: Result, actions: Pick<Actions, "result" | "flat" | "takeAway" | "beside">): HTMLElement {
  const { reading, picture } = result;
  return resultView(
    {
      next: nextStep(reading),
      picture: picture && pictureViews(overlayPicture(picture), actions.flat),
      rest: [qualityNotes(reading), numbers(reading), otherHints(reading), safetyNotes()],
      downloads: downloadsOf(result, actions.takeAway),
      late: actions.beside(),
    },
    actions.result,
  );
}

/** The file field of case files; it looks like a button. */
const caseChooser = (take: (file: File) => void) =>
  fileButton(say("case.open"), { id: "case-file", accept: ".zip,application/zip", quiet: true }, take);

function downloadsOf({ reading, readingUrl, picture, classesUrl }: Result, takeAway: Actions["takeAway"]): Download[] {
  const stem = reading.photo.name.replace(/\.[^.]+$/, "") || "photo";
  return [
    { words: say("result.report"), from: () => takeAway("report"), fileName: `${stem}.report.pdf` },
    { words: say("result.case"), from: () => takeAway("case"), fileName: `${stem}.case.zip` },
    { words: say("result.reading"), from: readingUrl, fileName: `${stem}.reading.json` },
    ...(picture
      ? [
          {
            words: say("result.picture"),
            from: picture.drawingUrl ? () => drawnPicture(picture) : picture.photoUrl,
            fileName: `${stem}.overlay.jpg`,
          },
        ]
      : []),
    ...(classesUrl ? [{ words: say("result.classes"), from: classesUrl, fileName: `${stem}.classes.png` }] : []),
  ];
}
