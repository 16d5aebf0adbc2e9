import type { PackLook, PackTaken } from "../../vision/contract/index.ts";
import { button, el, fileButton, fill } from "../element.ts";
import { dayWords, inEnglish, say } from "../words.ts";

export interface PackActions {
  /** @throws {Trouble} */
  readonly look: (file: File) => Promise<PackLook>;
  /** @throws {Trouble} */
  readonly take: (file: File, key: string) => Promise<PackTaken>;
  readonly taken: () => void;
  readonly whyNot: (error: unknown) => string;
}

/** A pack taken in: chosen, looked at with who signed it and under which licences, then taken in whole. */
export function packTaking({ look, take, taken, whyNot }: PackActions): HTMLElement {
  const told = el("div", { role: "status" });
  const say1 = (words: string) => fill(told, el("p", {}, words));
  async function choose(file: File) {
    say1(say("desk.loading"));
    try {
      const found = await look(file);
      const accept = button(say("pack.take"), () => void go(file, found.key), {
        class: "main-button",
        id: "pack-take",
      });
      fill(told, ...describe(found), accept);
      accept.focus();
    } catch (error) {
      say1(whyNot(error));
    }
  }
  async function go(file: File, key: string) {
    say1(say("desk.loading"));
    try {
      const { name, references, lessons } = await take(file, key);
      const counts = { references: references.added, here: references.here + lessons.here, lessons: lessons.added };
      say1(say("pack.taken", { name, ...counts }));
      taken();
    } catch (error) {
      say1(whyNot(error));
    }
  }
  return el(
    "section",
    { class: "card" },
    el("h2", {}, say("pack.title")),
    el("p", {}, say("pack.what")),
    fileButton(
      say("pack.choose"),
      { id: "pack-file", accept: ".zip,application/zip", quiet: true },
      (file) => void choose(file),
    ),
    told,
  );
}

function describe({
  name,
  site,
  by,
  madeAt,
  key,
  known,
  references,
  lessons,
  licences,
  authors,
}: PackLook): HTMLElement[] {
  return [
    el("h3", inEnglish(), name),
    el("p", {}, say("pack.from", { site, by, when: dayWords(new Date(madeAt)) })),
    el("p", {}, say("pack.holds", { references, lessons: lessons.length })),
    el("p", {}, say("pack.licences", { licences: licences.join("; "), authors: authors.join("; ") })),
    el("p", {}, say("pack.key"), " ", el("b", { class: "pack-key", dir: "ltr" }, key)),
    el("p", {}, say(`pack.known.${known}`)),
  ];
}
