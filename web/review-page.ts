import type { QueueItem, Reading, ReviewAnswer } from "../vision/contract/index.ts";
import { pictureUrl, previewUrl, readingThere, readingUrl } from "./api.ts";
import { button, el, fill, folded } from "./element.ts";
import { answerForm } from "./parts/answer-form.ts";
import { referenceForm } from "./parts/reference-form.ts";
import { reviewCase } from "./parts/review-case.ts";
import { addReference, answersTo, reviewQueue, sendAnswer } from "./review-api.ts";
import type { ReviewDesk } from "./review-desk.ts";
import { beforeCase, keptMarkUps } from "./review-past.ts";
import { sayReason, sayVerdict, whyNot } from "./review-words.ts";
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
      const shown = caseOf(item, reading, answers, list);
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

/** @param list  Back to the queue, with what is to be said there. */
function caseOf(
  { reading: id, ...item }: QueueItem,
  reading: Reading,
  answers: readonly ReviewAnswer[],
  list: (news?: string) => Promise<void>,
): HTMLElement {
  const { usable } = reading.quality;
  const preview = previewUrl(reading.photo.sha256);
  let known = answers;
  const answer = answerForm(reading.advice.length > 0 ? 0 : null, async (said) => {
    const now = await answersTo(id);
    const meanwhile = now.filter((one) => known.every((before) => before.id !== one.id));
    known = now;
    if (meanwhile.length > 0) {
      const told = meanwhile.map((one) => `${one.personName}: ${sayVerdict(one, reading)} ${one.note ?? ""}`.trim());
      return say("review.meanwhile", { answers: told.join(" · ") });
    }
    await sendAnswer(id, said);
    await list(say("review.sent"));
    return null;
  });
  let desk: Promise<ReviewDesk> | null = null;
  const kept = keptMarkUps(id, (markUp) => {
    void openDesk()
      .then((opened) => opened.beginFrom(markUp))
      .catch((error: unknown) => console.warn(error));
  });
  const deskFold = unfolded(say("desk.title"), async () => (await openDesk()).element);
  function openDesk(): Promise<ReviewDesk> {
    desk ??= (async () => {
      const { reviewDesk } = await import("./review-desk.ts");
      return reviewDesk(id, reading, {
        splitters: answer.setSplitters,
        saved: () => void kept.update().catch((error: unknown) => console.warn(error)),
      });
    })();
    desk.catch(() => {
      desk = null; // it is asked for again
    });
    deskFold.open = true;
    return desk;
  }
  void kept.update().catch((error: unknown) => console.info(error)); // the case stands without it
  return reviewCase(
    {
      item: { reading: id, ...item },
      reading,
      answers,
      pictures: {
        small: usable ? pictureUrl(id, "small") : preview, // nothing is drawn on a photo that could not be read
        sharp: usable ? pictureUrl(id, "overlay") : preview,
        classes: readingUrl(id, "/classes.png"),
      },
      answer: answer.element,
      kept: kept.element,
      desk: usable ? deskFold : null,
      before: unfolded(say("desk.history"), () => beforeCase(id)),
      reference: usable
        ? folded(
            say("reference.fold"),
            {},
            referenceForm((said) => addReference({ reading: id, ...said }).then(() => say("reference.added"), whyNot)),
          )
        : null,
    },
    () => void list(),
  );
}

/** What is had when it is first unfolded: it brings bytes that a poor line need not carry. */
function unfolded(title: string, had: () => Promise<HTMLElement>): HTMLDetailsElement {
  const body = el("div", {}, el("p", { role: "status" }, say("desk.loading")));
  const fold = folded(title, {}, body);
  fold.addEventListener("toggle", () => {
    if (!fold.open || body.dataset.had) return;
    body.dataset.had = "yes";
    had()
      .then((element) => fill(body, element))
      .catch((error: unknown) => {
        delete body.dataset.had;
        fill(body, el("p", { role: "alert" }, whyNot(error)));
      });
  });
  return fold;
}
