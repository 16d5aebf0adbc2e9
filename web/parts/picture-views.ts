import { button, el, fill } from "../element.ts";
import { say } from "../words.ts";

/** The picture over the photo or on the flat deck, as the person chooses. @param flat  Makes the second when it is first wanted; null where it cannot. */
export function pictureViews(onPhoto: HTMLElement, flat: () => Promise<HTMLElement | null>): HTMLElement {
  const body = el("div", {}, onPhoto);
  let made: HTMLElement | null = null;
  const choices = {
    photo: button(say("picture.onPhoto"), () => show("photo"), { class: "quiet" }),
    flat: button(say("picture.flat"), () => show("flat"), { class: "quiet" }),
  };
  type View = keyof typeof choices;
  let wanted: View = "photo";
  async function show(view: View) {
    wanted = view;
    mark();
    if (view === "photo") return fill(body, onPhoto);
    if (!made) fill(body, el("p", { class: "flat-waiting", role: "status" }, say("flat.working")));
    made ??= await flat();
    if (wanted !== "flat") return;
    if (made) return fill(body, made);
    wanted = "photo";
    mark();
    fill(body, onPhoto);
  }
  const mark = () => {
    for (const [view, choice] of Object.entries(choices)) choice.setAttribute("aria-pressed", String(view === wanted));
  };
  mark();
  return el(
    "section",
    { class: "card picture-views" },
    el(
      "div",
      { class: "view-choices", role: "group", "aria-label": say("picture.which") },
      choices.photo,
      choices.flat,
    ),
    body,
  );
}
