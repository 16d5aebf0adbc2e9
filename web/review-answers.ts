import type { Reading, ReviewAnswer } from "../vision/contract/index.ts";
import { el } from "./element.ts";
import { sayVerdict } from "./review-words.ts";
import { say, when } from "./words.ts";

/** What reviewers answered, the latest first, in the language of whoever reads it; free text as it was written. */
export const reviewAnswers = (answers: readonly ReviewAnswer[], reading: Reading): HTMLElement =>
  el(
    "ul",
    { class: "review-answers" },
    ...answers.map((answer) =>
      el(
        "li",
        {},
        el("p", {}, el("b", {}, sayVerdict(answer, reading))),
        ...answer.phrases.map((phrase) => el("p", {}, say(`review.phrase.${phrase}`))),
        answer.note && el("blockquote", {}, answer.note),
        el("p", { class: "hint-line" }, say("review.by", { name: answer.personName, when: when(new Date(answer.at)) })),
      ),
    ),
  );
