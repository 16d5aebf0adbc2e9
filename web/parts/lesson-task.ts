import {
  DECK_FAULTS,
  type DeckFault,
  type LessonScore,
  type NewLessonTry,
  Product,
  type ShownReference,
} from "../../vision/contract/index.ts";
import { button, el, fill, labelled, svgEl } from "../element.ts";
import { changeWords, LESSON_CHANGES } from "../lesson-changes.ts";
import { faultName, faultRemedy } from "../review-words.ts";
import { sourceWords } from "../said.ts";
import { inEnglish, number, percent, photoTitle, say } from "../words.ts";

type Said = Pick<NewLessonTry, "reference" | "fault" | "edges" | "splitters" | "change">;
type Show = (told: { readonly score: LessonScore; readonly next: () => void } | { readonly why: string }) => void;
const ENDS = ["from", "to"] as const;
/** Step of the sliders, mm; with Page Up and Page Down the browser takes larger ones. */
const STEP_MM = 5;

/** One deck of a lesson: the photo, what is wrong, where each band begins and ends; after that the truth, with why. */
export function lessonTask(
  reference: ShownReference,
  { n, count }: { readonly n: number; readonly count: number },
  check: (said: Said, show: Show) => Promise<void>,
): HTMLElement {
  const outletMm = reference.deck.outletMm;
  const marks = svgEl("svg", {
    viewBox: "0 0 1000 1000",
    preserveAspectRatio: "none",
    class: "lesson-marks",
    "aria-hidden": "true",
  });
  const fault = el(
    "select",
    { id: "lesson-fault" },
    ...DECK_FAULTS.map((name) => el("option", { value: name }, faultName(name))),
  );
  const bands = Product.options.map((kind, k) => {
    const there = el("input", { type: "checkbox", onchange: () => draw() });
    const sliders = ENDS.map((edge, e) => {
      const value = Math.round(((k + e * 0.8 + 0.1) / 3) * (outletMm / STEP_MM)) * STEP_MM;
      const at = el("output", {}, `${number(value)} mm`);
      const slider = el("input", {
        type: "range",
        min: 0,
        max: Math.round(outletMm),
        step: STEP_MM,
        value,
        oninput: () => draw(),
      });
      const words = say(edge === "from" ? "lesson.from" : "lesson.to", { band: say(`class.${kind}`) });
      return { edge, slider, at, element: el("label", { class: "lesson-slider" }, el("span", {}, words), slider, at) };
    });
    const ends = el("div", { hidden: true }, ...sliders.map(({ element }) => element));
    const words = say("lesson.there", { band: say(`class.${kind}`) });
    return {
      kind,
      there,
      sliders,
      ends,
      element: el("div", {}, el("label", { class: "gallery-pick" }, there, words), ends),
    };
  });
  const splitters = [0, 1].map((i) => {
    const value = Math.round(((i + 1) / 3) * (outletMm / STEP_MM)) * STEP_MM;
    const at = el("output", {});
    const words = el("span", {});
    const slider = el("input", {
      type: "range",
      min: 0,
      max: Math.round(outletMm),
      step: STEP_MM,
      value,
      oninput: () => draw(),
    });
    return { slider, at, words, element: el("label", { class: "lesson-slider" }, words, slider, at) };
  });
  /** The bands that follow each other, as far as they are ticked: a splitter stands between two. */
  const divides = (): [Product, Product][] => {
    const there = bands.filter((band) => band.there.checked).map(({ kind }) => kind);
    return there.slice(1).map((lower, i) => [there[i]!, lower]);
  };
  const change = el(
    "select",
    { id: "lesson-change" },
    ...LESSON_CHANGES.map((one, i) => el("option", { value: i }, changeWords(one))),
  );
  const told = el("div", { role: "status" });
  const done = button(say("lesson.check"), () => void ask(), { class: "main-button" });

  function draw() {
    const lines: Node[] = [];
    for (const { kind, there, sliders, ends } of bands) {
      ends.hidden = !there.checked;
      for (const { slider, at } of sliders) {
        at.textContent = `${number(Number(slider.value))} mm`;
        if (there.checked) lines.push(...markAt(reference, Number(slider.value), kind, false));
      }
    }
    const between = divides();
    for (const [i, { slider, at, words, element }] of splitters.entries()) {
      const pair = between[i];
      element.hidden = !pair;
      at.textContent = `${number(Number(slider.value))} mm`;
      if (!pair) continue;
      words.textContent = say("lesson.splitter", { upper: say(`class.${pair[0]}`), lower: say(`class.${pair[1]}`) });
      lines.push(...markAt(reference, Number(slider.value), null, false));
    }
    fill(marks, ...lines);
  }
  async function ask() {
    done.disabled = true;
    const edges = bands.flatMap(({ kind, there, sliders }) =>
      there.checked ? sliders.map(({ edge, slider }) => ({ kind, edge, atMm: Number(slider.value) })) : [],
    );
    const said: Said = {
      reference: reference.id,
      fault: fault.value as DeckFault,
      edges,
      splitters: divides().map((between, i) => ({ between, atMm: Number(splitters[i]!.slider.value) })),
      change: LESSON_CHANGES[Number(change.value)]!,
    };
    await check(said, (answer) => {
      if ("why" in answer) {
        done.disabled = false;
        return fill(told, el("p", {}, answer.why));
      }
      for (const { kind, atMm } of answer.score.edges) marks.append(...markAt(reference, atMm, kind, true));
      for (const { atMm } of answer.score.splitters) marks.append(...markAt(reference, atMm, null, true));
      done.hidden = true;
      fill(told, ...truth(reference, answer.score), button(say("lesson.next"), answer.next, { class: "main-button" }));
      told.querySelector("button")!.focus();
    });
  }
  draw();
  return el(
    "section",
    { class: "card lesson-task" },
    el("h1", { tabindex: -1 }, say("lesson.task", { n, count })),
    el("p", {}, say("lesson.how", { length: number(outletMm) })),
    el("div", { class: "lesson-photo" }, el("img", { src: reference.photoUrl, alt: say("lesson.photo") }), marks),
    labelled(say("lesson.fault"), fault),
    ...bands.map(({ element }) => element),
    ...splitters.map(({ element }) => element),
    labelled(say("lesson.change"), change),
    done,
    told,
  );
}

/** A mark at the outlet in the photo: what was said as a dot, the truth as a ring. @param kind  Null: a splitter. */
function markAt(
  { outletInPhoto: path }: ShownReference,
  mm: number,
  kind: Product | null,
  isTruth: boolean,
): SVGElement[] {
  const after = path.findIndex(([at]) => at >= mm);
  const [b, a] = [path[Math.max(0, after)], path[Math.max(0, after - 1)]];
  if (!a || !b) return [];
  const t = b[0] > a[0] ? (mm - a[0]) / (b[0] - a[0]) : 0;
  const colour = kind ? `var(--${kind})` : "#ffe14d";
  const [x, y] = [1000 * (a[1] + t * (b[1] - a[1])), 1000 * (a[2] + t * (b[2] - a[2]))];
  const ring = { cx: x, cy: y, rx: isTruth ? 22 : 12, ry: isTruth ? 30 : 16, stroke: "#101418", "stroke-width": 4 };
  return [
    svgEl("ellipse", { ...ring, fill: isTruth ? "none" : colour }),
    ...(isTruth
      ? [svgEl("ellipse", { ...ring, rx: 18, ry: 25, fill: "none", stroke: colour, "stroke-width": 6 })]
      : []),
  ];
}

function truth(reference: ShownReference, score: LessonScore): (HTMLElement | null)[] {
  const title = photoTitle(reference);
  const name = (kind: Product, edge: "from" | "to") =>
    say(edge === "from" ? "lesson.from" : "lesson.to", { band: say(`class.${kind}`) });
  const lines = [
    ...score.edges.map(({ kind, edge, atMm, offMm }) =>
      offMm === null
        ? say("lesson.missed", { edge: name(kind, edge), at: number(atMm) })
        : say("lesson.off", {
            edge: name(kind, edge),
            at: number(atMm),
            off: number(offMm),
            share: percent(offMm / reference.deck.outletMm),
          }),
    ),
    ...score.splitters.map(({ between: [upper, lower], atMm, offMm }) => {
      const words = { upper: say(`class.${upper}`), lower: say(`class.${lower}`), at: number(atMm) };
      if (offMm === null) return say("lesson.splitterMissed", words);
      const share = percent(offMm / reference.deck.outletMm);
      return say("lesson.splitterOff", { ...words, off: number(offMm), share });
    }),
    ...[...new Set(score.extra.map(({ kind }) => kind))].map((kind) =>
      say("lesson.extra", { band: say(`class.${kind}`) }),
    ),
  ];
  return [
    el("h2", {}, say("lesson.score", { score: percent(score.score) })),
    el("p", {}, say(score.faultRight ? "lesson.right" : "lesson.wrong", { fault: faultName(score.fault) })),
    el("p", {}, faultRemedy(score.fault)),
    score.change &&
      el(
        "p",
        {},
        say(score.change.right ? "lesson.changeRight" : "lesson.changeWrong", {
          changes: score.change.could.map(changeWords).join(" "),
        }),
      ),
    el("ul", {}, ...lines.map((line) => el("li", {}, line))),
    reference.note === "" ? el("p", title.attributes, title.words) : el("p", inEnglish(), reference.note),
    el(
      "ul",
      { class: "hint-line" },
      ...reference.basis.map(sourceWords).map(({ words, attributes }) => el("li", attributes, words)),
    ),
    ...(reference.classesUrl
      ? [
          el(
            "figure",
            {},
            el("img", {
              src: reference.classesUrl,
              alt: say("gallery.bands", { title: title.words }),
              class: "gallery-bands",
            }),
            el("figcaption", {}, say("gallery.colours")),
          ),
        ]
      : []),
  ];
}
