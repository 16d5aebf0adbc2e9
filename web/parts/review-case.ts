import {
  type NewReviewAnswer,
  type Product,
  type QueueItem,
  REVIEW_PHRASES,
  type Reading,
  type ReviewAnswer,
} from "../../vision/contract/index.ts";
import { CONTROL_WORDS } from "../../vision/telling/index.ts";
import { button, el, labelled } from "../element.ts";
import { hintHeadline, outletUnits } from "../reading-words.ts";
import { reviewAnswers } from "../review-answers.ts";
import { sayReason, whyNot } from "../review-words.ts";
import { inEnglish, number, say } from "../words.ts";

export interface Case {
  readonly item: QueueItem;
  readonly reading: Reading;
  readonly answers: readonly ReviewAnswer[];
  readonly pictures: { readonly small: string; readonly sharp: string; readonly classes: string };
}
type Edge = { readonly kind: Product; readonly edge: "from" | "to"; readonly atMm: number };
export interface CaseActions {
  /** @throws {Trouble} */
  readonly answer: (answer: NewReviewAnswer) => Promise<void>;
  /** @throws {Trouble} */
  readonly correct: (edges: Edge[]) => Promise<void>;
  readonly back: () => void;
}

/** Controls that a reviewer can have changed, with their unit. */
const CONTROLS = {
  washWater: ["wash water", "L/min"],
  feedWater: ["feed water", "L/min"],
  feedRate: ["feed rate", "kg/h"],
  crossSlope: ["cross slope", "mm/m"],
  splitter: ["splitter", "mm"],
} as const;
type Control = keyof typeof CONTROLS;
const VERDICTS = ["confirmed", "changed", "refused"] as const;

/** One reading under review: photo and flat deck side by side, its edges, and the answer to its hint. */
export function reviewCase(shown: Case, actions: CaseActions): HTMLElement {
  const { item, reading, answers, pictures } = shown;
  const hint = reading.advice[0];
  const photo = el("img", { src: pictures.small, alt: say("picture.alt") });
  const sharper = button(
    say("review.sharper"),
    () => {
      photo.src = pictures.sharp;
      sharper.hidden = true;
    },
    { class: "quiet" },
  );
  return el(
    "div",
    {},
    el(
      "section",
      { class: "card" },
      el("h1", { tabindex: -1 }, item.name),
      el("ul", {}, ...item.reasons.map((reason) => el("li", {}, sayReason(reason)))),
      ...item.asks.flatMap(({ why, note }) => [
        item.reasons.some(({ kind }) => kind === why) ? null : el("p", {}, say(`review.why.${why}`)),
        note ? el("blockquote", {}, note) : null,
      ]),
      el(
        "div",
        { class: "review-pictures" },
        el("figure", {}, photo, el("figcaption", {}, sharper)),
        reading.quality.usable &&
          el("figure", {}, flatDeck(pictures.classes), el("figcaption", {}, say("gallery.colours"))),
      ),
    ),
    el(
      "section",
      { class: "card" },
      el("h2", {}, say("review.hint")),
      el("p", {}, hint ? hintHeadline(hint, reading) : say("next.nothing")),
      hint && el("ul", {}, ...hint.because.map((because) => el("li", inEnglish(), because))),
      answerForm(hint ? 0 : null, actions.answer),
    ),
    reading.quality.usable && reading.scale === "deck file" && edgeForm(reading, actions.correct),
    answers.length > 0 &&
      el("section", { class: "card" }, el("h2", {}, say("review.answers")), reviewAnswers(answers, reading)),
    el("div", { class: "choices" }, button(say("review.back"), actions.back, { class: "quiet" })),
  );
}

/** Class numbers in their colours: unseen, bare, dense, middling, light, dry. */
const COLOURS = [
  [16, 20, 24],
  [120, 120, 120],
  [58, 31, 214],
  [255, 149, 0],
  [189, 246, 255],
  [230, 0, 122],
] as const;
function flatDeck(url: string): HTMLElement {
  const canvas = el("canvas", { class: "gallery-bands", role: "img", "aria-label": say("review.flat") });
  void (async () => {
    const answer = await fetch(url);
    if (!answer.ok) return;
    const plane = await createImageBitmap(await answer.blob(), { colorSpaceConversion: "none" });
    [canvas.width, canvas.height] = [plane.width, plane.height];
    const context = canvas.getContext("2d")!;
    context.drawImage(plane, 0, 0);
    const pixels = context.getImageData(0, 0, plane.width, plane.height);
    for (let i = 0; i < pixels.data.length; i += 4) pixels.data.set(COLOURS[pixels.data[i]!] ?? COLOURS[0], i);
    context.putImageData(pixels, 0, 0);
  })().catch((error: unknown) => console.warn(error)); // the photo has the bands as well
  return canvas;
}

function answerForm(hint: number | null, send: CaseActions["answer"]): HTMLElement {
  const control = el(
    "select",
    { id: "review-control" },
    ...(Object.keys(CONTROLS) as Control[]).map((name) =>
      el("option", { value: name }, `${say(CONTROL_WORDS[CONTROLS[name][0]].words)}, ${CONTROLS[name][1]}`),
    ),
  );
  const direction = el(
    "select",
    { id: "review-direction" },
    el("option", { value: "raise" }, say("review.raise")),
    el("option", { value: "lower" }, say("review.lower")),
  );
  const amount = el("input", { id: "review-amount", type: "number", min: 0, step: "any", inputmode: "decimal" });
  const changing = el(
    "div",
    { hidden: true },
    labelled(say("review.control"), control),
    labelled(say("review.direction"), direction),
    labelled(say("review.amount"), amount),
  );
  let verdict: (typeof VERDICTS)[number] = hint === null ? "changed" : "confirmed";
  changing.hidden = verdict !== "changed";
  const verdicts = VERDICTS.filter((name) => hint !== null || name !== "confirmed").map((name) =>
    el(
      "label",
      { class: "gallery-pick" },
      el("input", {
        type: "radio",
        name: "review-verdict",
        value: name,
        checked: name === verdict,
        onchange: () => {
          verdict = name;
          changing.hidden = name !== "changed";
        },
      }),
      say(`review.verdict.${name}`),
    ),
  );
  const phrases = REVIEW_PHRASES.map((name) => {
    const box = el("input", { type: "checkbox", value: name });
    return { name, box, element: el("label", { class: "gallery-pick" }, box, say(`review.phrase.${name}`)) };
  });
  const note = el("textarea", { id: "review-note", rows: 3, maxlength: 4000 });
  const told = el("p", { role: "status" });
  const sendIt = button(say("review.send"), () => void go(), { class: "main-button" });
  async function go() {
    const name = control.value as Control;
    const value = Number(amount.value);
    const change =
      verdict === "changed"
        ? {
            control: name,
            target: null,
            direction: direction.value as "raise" | "lower",
            amount: value > 0 ? { value, unit: CONTROLS[name][1] } : null,
            toMm: null,
          }
        : null;
    sendIt.disabled = true;
    try {
      const said = phrases.filter(({ box }) => box.checked).map((phrase) => phrase.name);
      await send({ verdict, hint, change, phrases: said, note: note.value.trim() || null });
    } catch (error) {
      told.textContent = whyNot(error);
      sendIt.disabled = false;
    }
  }
  return el(
    "div",
    {},
    el("fieldset", {}, el("legend", {}, say("review.verdict")), ...verdicts),
    changing,
    el(
      "fieldset",
      { class: "review-phrases" },
      el("legend", {}, say("review.phrases")),
      ...phrases.map(({ element }) => element),
    ),
    labelled(say("review.note"), note),
    told,
    sendIt,
  );
}

/** No outlet is longer than this, mm. */
const MOST_MM = 20_000;
/** Where each band begins and ends, to be corrected; what is kept lies beside the reading, which stays as it is. */
function edgeForm(reading: Reading, correct: CaseActions["correct"]): HTMLElement {
  const units = outletUnits(reading);
  const inputs = reading.bands.flatMap(({ kind, outlet }) =>
    outlet.flatMap((span, n) =>
      (["from", "to"] as const).flatMap((edge) => {
        const error = edge === "from" ? span.fromErrorMm : span.toErrorMm;
        if (error === null) return [];
        const atMm = edge === "from" ? span.fromMm : span.toMm;
        const id = `review-${kind}-${n}-${edge}`;
        const input = el("input", {
          id,
          type: "number",
          min: 0,
          max: MOST_MM,
          step: "any",
          value: Math.round(atMm),
          inputmode: "decimal",
          required: true,
        });
        const words = say(edge === "from" ? "lesson.from" : "lesson.to", { band: say(`class.${kind}`) });
        const label = `${words}, mm (${number(Math.round(atMm))}${units.error(error)})`;
        return [
          {
            kind,
            edge,
            input,
            atMm: Math.round(atMm),
            row: labelled(label, input),
          },
        ];
      }),
    ),
  );
  const told = el("p", { role: "status" });
  const undo = button(
    say("review.undo"),
    () => {
      for (const { input, atMm } of inputs) input.value = String(atMm);
      told.textContent = "";
    },
    { class: "quiet" },
  );
  const save = button(say("review.saveEdges"), async () => {
    const wrong = inputs.find(({ input }) => !input.validity.valid);
    if (wrong) {
      told.textContent = say("setup.range", { least: number(0), most: number(MOST_MM) });
      return wrong.input.focus();
    }
    try {
      await correct(inputs.map(({ kind, edge, input }) => ({ kind, edge, atMm: input.valueAsNumber })));
      told.textContent = say("review.edgesSaved");
    } catch (error) {
      told.textContent = whyNot(error);
    }
  });
  const form =
    inputs.length === 0
      ? [el("p", {}, say("review.noEdges"))]
      : [...inputs.map(({ row }) => row), told, el("div", { class: "choices" }, save, undo)];
  return el("section", { class: "card" }, el("details", {}, el("summary", {}, say("review.edges")), ...form));
}
