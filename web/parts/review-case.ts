import type { QueueItem, Reading, ReviewAnswer } from "../../vision/contract/index.ts";
import { CLASS_COLOURS } from "../class-colours.ts";
import { button, el } from "../element.ts";
import { hintHeadline, hintWords, issueWords } from "../reading-words.ts";
import { reviewAnswers } from "../review-answers.ts";
import { sayReason } from "../review-words.ts";
import { say } from "../words.ts";

export interface Case {
  readonly item: QueueItem;
  readonly reading: Reading;
  readonly answers: readonly ReviewAnswer[];
  readonly pictures: { readonly small: string; readonly sharp: string; readonly classes: string };
  /** The answer's form; what was kept of corrections; the desk, and what came before, each loaded when it is unfolded. */
  readonly answer: HTMLElement;
  readonly kept: HTMLElement;
  readonly desk: HTMLElement | null;
  readonly before: HTMLElement;
  readonly reference: HTMLElement | null;
}

/** One reading under review: photo and flat deck side by side, why it stands in the queue, its hint, answer and desk. */
export function reviewCase({ item, reading, answers, pictures, ...more }: Case, back: () => void): HTMLElement {
  const { usable, issues } = reading.quality;
  const hint = reading.advice[0];
  const photo = el("img", { src: pictures.small, alt: usable ? say("picture.alt") : item.name });
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
        el("figure", {}, photo, usable && el("figcaption", {}, sharper)),
        usable && el("figure", {}, flatDeck(pictures.classes), el("figcaption", {}, say("gallery.colours"))),
      ),
    ),
    el("section", { class: "card" }, more.before),
    more.desk && el("section", { class: "card" }, more.desk, more.kept),
    el(
      "section",
      { class: "card" },
      el("h2", {}, say("review.hint")),
      el("p", {}, hint ? hintHeadline(hint, reading) : say(usable ? "next.nothing" : "next.anotherPhoto")),
      !usable && el("ul", {}, ...issues.map(issueWords).map(({ words, attributes }) => el("li", attributes, words))),
      hint && el("ul", {}, ...hintWords(hint).because.map(({ words, attributes }) => el("li", attributes, words))),
      more.answer,
    ),
    answers.length > 0 &&
      el("section", { class: "card" }, el("h2", {}, say("review.answers")), reviewAnswers(answers, reading)),
    more.reference && el("section", { class: "card" }, more.reference),
    el("div", { class: "choices" }, button(say("review.back"), back, { class: "quiet" })),
  );
}

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
    for (let i = 0; i < pixels.data.length; i += 4) {
      pixels.data.set(CLASS_COLOURS[pixels.data[i]!] ?? CLASS_COLOURS[0], i);
    }
    context.putImageData(pixels, 0, 0);
  })().catch((error: unknown) => console.warn(error)); // the photo has the bands as well
  return canvas;
}
