import type { Lesson, LessonTry } from "../vision/contract/index.ts";
import { button, el, fill, folded } from "./element.ts";
import { lessonTask } from "./parts/lesson-task.ts";
import { everyonesProgress, lessons, ownTries, packOf, referenceOf, references, sendTry } from "./review-api.ts";
import { whyNot } from "./review-words.ts";
import { saveFile } from "./save-file.ts";
import { table } from "./table.ts";
import { number, percent, say, when } from "./words.ts";

/** How many decks a lesson of any decks has. */
const ANY = 10;

/**
 * Lessons: look at a deck, say what is wrong, where the bands lie and what to do, then see the truth. Loaded when it is first opened.
 *
 * @param practise  Opens the practice deck.
 */
export function lessonScreen(close: () => void, practise: () => void): HTMLElement {
  const body = el("div", {});
  const element = el(
    "div",
    { class: "step lessons" },
    body,
    el("div", { class: "choices" }, button(say("far.back"), close, { class: "quiet" })),
  );

  async function choose() {
    const told = el("p", { role: "status" });
    const list = el("ul", { class: "kept" });
    fill(
      body,
      el(
        "section",
        { class: "card" },
        el("h1", { tabindex: -1 }, say("lesson.title")),
        el("p", {}, say("lesson.what")),
        el(
          "div",
          { class: "desk-tools" },
          button(say("lesson.any", { count: ANY }), () => void any(), { class: "main-button", id: "lesson-any" }),
          button(say("practice.open"), practise, { class: "quiet", id: "lesson-practice" }),
        ),
        told,
        list,
      ),
      everyone(),
    );
    try {
      const [all, tries] = await Promise.all([lessons(), ownTries()]);
      if (tries.length > 0)
        told.textContent = say("lesson.progress", { count: tries.length, score: percent(meanOf(tries)) });
      fill(
        list,
        ...all.map((lesson) =>
          el("li", { class: "lesson-line" }, beginButton(lesson, tries), sheetButton(lesson), packButton(lesson)),
        ),
      );
    } catch (error) {
      told.textContent = whyNot(error);
    }
  }
  function beginButton(lesson: Lesson, tries: readonly LessonTry[]) {
    const own = tries.filter((one) => one.lesson === lesson.id);
    const words = { name: lesson.name, count: lesson.references.length };
    const label =
      own.length > 0 ? say("lesson.again", { ...words, score: percent(meanOf(own)) }) : say("lesson.begin", words);
    return button(label, () => void begin(lesson.references, lesson.id), { class: "quiet" });
  }
  function packButton({ id, name }: Lesson) {
    const save = async () => saveFile(await packOf({ lesson: id }), `${plainName(name)}.pack.zip`);
    const words = { class: "quiet", "aria-label": say("pack.saveLesson", { name }) };
    return button(say("pack.save"), () => void save().catch(tellTrouble), words);
  }
  function sheetButton(lesson: Lesson) {
    const { name } = lesson;
    const print = async () => {
      tell(say("desk.loading"));
      const { printLesson } = await import("./lesson-sheet.ts");
      saveFile(
        await printLesson(lesson, await Promise.all(lesson.references.map(referenceOf))),
        `${plainName(name)}.pdf`,
      );
      tell("");
    };
    const words = { class: "quiet", "aria-label": say("lesson.sheetOf", { name }) };
    return button(say("lesson.sheet"), () => void print().catch(tellTrouble), words);
  }
  const tell = (words: string) => {
    body.querySelector("[role=status]")!.textContent = words;
  };
  const tellTrouble = (error: unknown) => tell(whyNot(error));
  async function any() {
    try {
      const { items } = await references({}, null, 200);
      const mixed = items.map((item) => ({ item, at: Math.random() })).sort((a, b) => a.at - b.at);
      await begin(
        mixed.slice(0, ANY).map(({ item }) => item.id),
        null,
      );
    } catch (error) {
      tellTrouble(error);
    }
  }
  async function begin(ids: readonly string[], lesson: string | null, tries: readonly LessonTry[] = []): Promise<void> {
    const id = ids[tries.length];
    if (id === undefined) return finish(tries);
    try {
      const reference = await referenceOf(id);
      fill(
        body,
        lessonTask(reference, { n: tries.length + 1, count: ids.length }, async (said, show) => {
          try {
            const done = await sendTry({ lesson, ...said });
            show({ score: done.score, next: () => void begin(ids, lesson, [...tries, done]) });
          } catch (error) {
            show({ why: whyNot(error) });
          }
        }),
      );
      body.querySelector<HTMLElement>("h1")?.focus();
    } catch (error) {
      fill(body, el("p", { role: "alert", class: "problem" }, whyNot(error)));
    }
  }
  function finish(tries: readonly LessonTry[]) {
    fill(
      body,
      el(
        "section",
        { class: "card" },
        el("h1", { tabindex: -1 }, say("lesson.done", { score: percent(meanOf(tries)) })),
        button(say("lesson.others"), () => void choose(), { class: "main-button" }),
      ),
    );
    body.querySelector<HTMLElement>("h1")?.focus();
  }
  void choose();
  return element;
}

/** For trainers: how everybody did; asked for when it is unfolded. */
function everyone(): HTMLElement {
  const inside = el("div", {});
  const fold = folded(say("lesson.everyone"), { class: "card" }, inside);
  fold.addEventListener("toggle", () => {
    if (!fold.open) return;
    everyonesProgress()
      .then((items) => {
        const rows = items.map(({ name, lessonName, decks, score, lately, last }) => {
          const lesson = lessonName ?? say("lesson.anyDecks");
          return [name, lesson, number(decks), percent(score), percent(lately), when(new Date(last))];
        });
        const heads = ["who", "which", "decks", "mean", "lately", "last"] as const;
        const words = heads.map((head) => say(`lesson.head.${head}`));
        fill(inside, rows.length > 0 ? table(say("lesson.everyone"), words, rows) : el("p", {}, say("lesson.nobody")));
      })
      .catch((error: unknown) => fill(inside, el("p", {}, whyNot(error))));
  });
  return fold;
}
/** A name as part of a file's name. */
const plainName = (name: string) => name.replace(/[^\p{L}\p{N}._-]+/gu, "-").slice(0, 60) || "lesson";
const meanOf = (tries: readonly LessonTry[]) =>
  tries.reduce((sum, { score }) => sum + score.score, 0) / Math.max(1, tries.length);
