import { REVIEW_WHYS, type Reading } from "../vision/contract/index.ts";
import { button, el, fill, labelled } from "./element.ts";
import { galleryCard } from "./parts/gallery-card.ts";
import { reviewAnswers } from "./review-answers.ts";
import { alikeTo, answersTo, newestThere, sendAsk } from "./review-api.ts";
import { sayDifference, whyNot } from "./review-words.ts";
import { say } from "./words.ts";

/** Beside a result: what reviewers answered, a way to ask them, and the references whose bands look most like these. */
export async function reviewAsked(photo: string, reading: Reading): Promise<HTMLElement> {
  const there = await newestThere(photo);
  const answers = there ? await answersTo(there) : [];
  return el(
    "section",
    { class: "card review-asked" },
    el("h2", {}, say(answers.length > 0 ? "review.answers" : "review.beside")),
    answers.length > 0 && reviewAnswers(answers, reading),
    there
      ? el("details", {}, el("summary", {}, say("review.ask")), askForm(there))
      : el("p", { class: "hint-line" }, say("review.notThere")),
    reading.quality.usable && alike(reading),
  );
}

function askForm(reading: string): HTMLElement {
  const why = el(
    "select",
    { id: "ask-why" },
    ...REVIEW_WHYS.map((name) => el("option", { value: name }, say(`review.why.${name}`))),
  );
  const note = el("textarea", { id: "ask-note", rows: 2, maxlength: 4000 });
  const told = el("p", { role: "status" });
  const send = button(say("review.ask"), async () => {
    send.disabled = true;
    try {
      await sendAsk(reading, { why: why.value as (typeof REVIEW_WHYS)[number], note: note.value.trim() || null });
      told.textContent = say("review.asked");
    } catch (error) {
      told.textContent = whyNot(error);
      send.disabled = false;
    }
  });
  return el("div", {}, labelled(say("review.whyAsk"), why), labelled(say("review.note"), note), told, send);
}

/** Asked for when it is unfolded: it brings photos. */
function alike(reading: Reading): HTMLElement {
  const body = el("div", { class: "gallery-list" });
  const folded = el("details", {}, el("summary", {}, say("alike.title")), body);
  folded.addEventListener("toggle", () => void fillAlike(body, reading), { once: true });
  return folded;
}
async function fillAlike(body: HTMLElement, reading: Reading): Promise<void> {
  try {
    const { items } = await alikeTo(reading);
    fill(
      body,
      ...items.map(({ reference, differences }) => {
        const lines =
          differences.length > 0 ? differences.map((one) => sayDifference(one, reading)) : [say("alike.same")];
        return galleryCard(reference, "h3", el("ul", {}, ...lines.map((line) => el("li", {}, line))));
      }),
    );
  } catch (error) {
    fill(body, el("p", {}, whyNot(error)));
  }
}
