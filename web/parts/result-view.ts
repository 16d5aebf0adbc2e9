import { button, el } from "../element.ts";

export interface ResultActions {
  readonly changeCorners: () => void;
  readonly sayTaps: () => void;
  readonly anotherPhoto: () => void;
}
export interface Download {
  readonly words: string;
  readonly url: string;
  readonly fileName: string;
}

/** The result's frame: picture beside words on a wide screen, one column on a phone. */
export function resultView(
  parts: {
    readonly next: HTMLElement;
    readonly picture: HTMLElement | null;
    readonly rest: readonly (HTMLElement | null)[];
    readonly downloads: readonly Download[];
  },
  actions: ResultActions,
): HTMLElement {
  const links = parts.downloads.map((d) =>
    el("a", { href: d.url, download: d.fileName, class: "button quiet" }, d.words),
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
        button("Bands wrong? Tap what you see", actions.sayTaps, { class: "quiet" }),
        button("Change corners and read again", actions.changeCorners, { class: "quiet" }),
        button("Another photo", actions.anotherPhoto, { class: "quiet" }),
      ),
      ...parts.rest,
      el("section", { class: "card" }, el("h2", {}, "Keep it"), el("div", { class: "choices" }, ...links)),
    ),
  );
}
