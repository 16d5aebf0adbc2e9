import type { QueueItem } from "../vision/contract/index.ts";
import { readingThere, readingUrl } from "./api.ts";
import { button, el, fill } from "./element.ts";
import { reviewCase } from "./parts/review-case.ts";
import { answersTo, reviewQueue, sendAnswer, sendMarkUp } from "./review-api.ts";
import { sayReason, whyNot } from "./review-words.ts";
import { say, when } from "./words.ts";

/** Readings that need eyes: the queue, and one case at a time with its answer. Loaded when it is first opened. */
export function reviewScreen(close: () => void): HTMLElement {
  const body = el("div", {});
  const element = el(
    "div",
    { class: "step review" },
    body,
    el("div", { class: "choices" }, button(say("far.back"), close, { class: "quiet" })),
  );

  async function list(news = "") {
    const told = el("p", { role: "status" }, news);
    const lines = el("ol", { class: "review-queue" });
    fill(
      body,
      el(
        "section",
        { class: "card" },
        el("h1", { tabindex: -1 }, say("review.title")),
        el("p", {}, say("review.what")),
        told,
        lines,
      ),
    );
    body.querySelector<HTMLElement>("h1")?.focus();
    try {
      const items = await reviewQueue();
      if (items.length === 0) told.textContent = [news, say("review.empty")].filter(Boolean).join(" ");
      fill(lines, ...items.map(line));
    } catch (error) {
      told.textContent = whyNot(error);
    }
  }
  const line = (item: QueueItem) =>
    el(
      "li",
      {},
      button(say("review.look", { name: item.name, when: when(new Date(item.madeAt)) }), () => void open(item), {
        class: "quiet",
      }),
      el("ul", {}, ...item.reasons.map((reason) => el("li", {}, sayReason(reason)))),
      ...item.asks.filter(({ note }) => note).map(({ note }) => el("blockquote", {}, note)),
    );

  async function open(item: QueueItem) {
    try {
      const [reading, answers] = await Promise.all([readingThere(item.reading), answersTo(item.reading)]);
      if (!reading) return list();
      const pictures = {
        small: readingUrl(item.reading, "/small.jpg"),
        sharp: readingUrl(item.reading, "/overlay.jpg"),
        classes: readingUrl(item.reading, "/classes.png"),
      };
      const shown = reviewCase(
        { item, reading, answers, pictures },
        {
          answer: async (answer) => {
            await sendAnswer(item.reading, answer);
            await list(say("review.sent"));
          },
          correct: async (edges) => {
            await sendMarkUp(item.reading, { schemaVersion: 1, edges });
          },
          back: () => void list(),
        },
      );
      fill(body, shown);
      shown.querySelector<HTMLElement>("h1")?.focus();
    } catch (error) {
      fill(
        body,
        el("p", { role: "alert", class: "problem" }, whyNot(error)),
        button(say("review.back"), () => void list()),
      );
    }
  }
  void list();
  return element;
}
