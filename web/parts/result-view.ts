import { button, el, plainFolded } from "../element.ts";
import { saveFile } from "../save-file.ts";
import { say } from "../words.ts";

export interface ResultActions {
  readonly changeCorners: () => void;
  readonly sayTaps: () => void;
  readonly anotherPhoto: () => void;
}
export interface Download {
  readonly words: string;
  /** Its address, or how it is made when it is wanted; null where it could not be. */
  readonly from: string | (() => Promise<Blob | null>);
  readonly fileName: string;
}

/** The result's frame: picture beside words on a wide screen, one column on a phone. */
export function resultView(
  parts: {
    readonly next: HTMLElement;
    readonly picture: HTMLElement | null;
    readonly rest: readonly (HTMLElement | null)[];
    readonly downloads: readonly Download[];
    /** What fills late: it stands last, so that nothing that is read meanwhile moves. */
    readonly late: HTMLElement;
  },
  actions: ResultActions,
): HTMLElement {
  const links = parts.downloads.map(({ words, from, fileName }) =>
    typeof from === "string"
      ? el("a", { href: from, download: fileName, class: "button quiet" }, words)
      : makingButton(words, from, fileName),
  );
  return el(
    "div",
    { class: "result" },
    el("div", { class: "result-left" }, parts.next, parts.picture),
    el(
      "div",
      { class: "result-right" },
      el(
        "div",
        { class: "choices" },
        button(say("result.tap"), actions.sayTaps, { class: "quiet" }),
        button(say("result.corners"), actions.changeCorners, { class: "quiet" }),
        button(say("photo.another"), actions.anotherPhoto, { class: "quiet" }),
      ),
      ...parts.rest,
      el(
        "section",
        { class: "card" },
        el("h2", {}, say("result.keep")),
        el("div", { class: "choices" }, ...links.slice(0, SHOWN_FIRST)),
        plainFolded(say("result.otherFiles"), el("div", { class: "choices" }, ...links.slice(SHOWN_FIRST))),
      ),
      parts.late,
    ),
  );
}

/** How many downloads are in sight; the others are for people who reckon on with them. */
const SHOWN_FIRST = 2;

/** Makes a file when it is pressed, and says so meanwhile. */
function makingButton(words: string, make: () => Promise<Blob | null>, fileName: string): HTMLElement {
  const made = button(
    words,
    async () => {
      made.disabled = true;
      status.textContent = say("result.making");
      const blob = await make().finally(() => {
        made.disabled = false;
        status.textContent = "";
      });
      if (blob) saveFile(blob, fileName);
    },
    { class: "quiet" },
  );
  const status = el("span", { role: "status" });
  return el("div", { class: "maker" }, made, status);
}
