import type { Expectation, Expected, RunBalance, Told } from "../../vision/contract/index.ts";
import { checkWords, tell } from "../../vision/telling/index.ts";
import { el, fill } from "../element.ts";
import { measured, type Said, streamName } from "../run-words.ts";
import { saidWords } from "../said.ts";
import { wideTable } from "../table.ts";
import { inEnglish, number, say, speech } from "../words.ts";

/** What a run adds up to, each figure with its error; and what its newest photo lets expect. */
export function runBalance() {
  const element = el("div", { class: "run-balance" });
  /** @param why  Why there is none, in words. */
  const update = (balance: RunBalance | null, why: Said, expected: Expected | null) => {
    if (!balance) return fill(element, el("p", why.foreign ? inEnglish() : {}, why.say), ...expectedPart(expected));
    const { verdict, water, middling, checks, notes } = balance;
    const told = (lines: readonly Told[]) =>
      lines.length > 0 && el("ul", {}, ...lines.map((line) => el("li", {}, tell(speech, line))));
    fill(
      element,
      el("div", { class: balance.fits ? "verdict" : "verdict caution" }, told(verdict)),
      figureTable(balance),
      el("h3", {}, say("run.balance.products")),
      productTable(balance),
      el("h3", {}, say("run.balance.concentrated")),
      concentrationTable(balance),
      el("p", { class: "hint-line" }, say("run.balance.errors")),
      water && el("h3", {}, say("run.balance.water")),
      water && told(water.verdict),
      middling && el("h3", {}, say("class.middling")),
      middling && el("p", {}, el("b", {}, say(`run.way.${middling.choice}`))),
      middling && told([...middling.because, ...(middling.caution ? [middling.caution] : [])]),
      checks.length > 0 && el("h3", {}, say("run.balance.checks")),
      checks.length > 0 && el("ul", {}, ...checks.map((check) => el("li", {}, checkWords(speech, check)))),
      told(notes),
      ...expectedPart(expected),
    );
  };
  return { element, update };
}

function figureTable({ lines, products }: RunBalance): HTMLElement {
  const metals = new Set(products.flatMap(({ metals: all }) => all.map(({ metal }) => metal)));
  const names = { "dry mass": say("run.item.dry"), water: say("run.balance.water") };
  const figures = lines.filter(({ item }) => item in names || metals.has(item));
  const told = (value: number | null, error: number | null) => (value === null ? "–" : measured(value, error, ""));
  return wideTable(
    say("run.balance"),
    [say("run.balance.what"), say("run.balance.given"), say("run.balance.balanced"), say("run.balance.off")],
    figures.map((line) => {
      const name = names[line.item as keyof typeof names] ?? line.item;
      return [
        el(
          "span",
          {},
          `${streamName(line.stream)}, ${name}, ${line.unit}`,
          line.misfit && el("b", { class: "run-misfit" }, say("run.balance.misfit")),
        ),
        told(line.given, line.givenError),
        told(line.balanced, line.balancedError),
        line.off === null ? "–" : number(Math.abs(line.off), 1),
      ];
    }),
  );
}

function productTable({ products }: RunBalance): HTMLElement {
  return wideTable(
    say("run.balance.products"),
    [say("run.balance.what"), say("run.balance.share"), say("run.balance.grade"), say("run.balance.recovery")],
    products.flatMap(({ stream, share, metals }) =>
      metals.map(({ metal, gradePercent, recovery }) => [
        `${streamName(stream)}, ${metal}`,
        percent(share),
        found(gradePercent, "%"),
        percent(recovery),
      ]),
    ),
  );
}

/** A second table of the same rows: seven columns would be wider than a phone. */
function concentrationTable({ products }: RunBalance): HTMLElement {
  return wideTable(
    say("run.balance.concentrated"),
    [say("run.balance.what"), say("run.balance.ratio"), say("run.balance.enrichment"), say("run.balance.separation")],
    products.flatMap(({ stream, ratio, metals }) =>
      metals.map(({ metal, enrichment, separation }) => [
        `${streamName(stream)}, ${metal}`,
        found(ratio, ""),
        found(enrichment, ""),
        percent(separation),
      ]),
    ),
  );
}

type Found = RunBalance["products"][number]["share"];
const found = (value: Found, unit: string) => (value ? measured(value.value, value.error, unit) : "–");
const percent = (share: Found) => found(share && { value: 100 * share.value, error: 100 * (share.error ?? 0) }, "%");

function expectedPart(expected: Expected | null): HTMLElement[] {
  if (!expected || expected.launders.length === 0) return [];
  const { launders, metal } = expected;
  const refusals = launders.flatMap(({ launder, grade, recovery }) => [
    ...refused(launder, "run.balance.grade", grade),
    ...refused(launder, "run.balance.recovery", recovery),
  ]);
  const told = ({ expected: found }: Expectation) => {
    if (!found) return "–";
    const range = { from: measured(found.from, null, ""), to: measured(found.to, null, "%") };
    const between = el("small", { class: "run-between" }, ` (${say("run.expected.between", range)})`);
    return el("span", {}, measured(found.value, found.error, "%"), between);
  };
  const known = launders.filter(({ grade, recovery }) => grade.expected ?? recovery.expected);
  return [
    el("h3", {}, say("run.expected")),
    ...(known.length > 0
      ? [
          wideTable(
            say("run.expected"),
            [
              say("run.expected.launder"),
              `${say("run.balance.grade")}, ${metal}`,
              say("run.balance.recovery"),
              say("run.expected.runs"),
            ],
            known.map((one) => [one.launder, told(one.grade), told(one.recovery), String(one.grade.runs)]),
          ),
          ...leftOutPart(known),
        ]
      : []),
    el("ul", {}, ...refusals),
  ];
}

/** Why nothing can be expected of a launder's figure. */
function refused(
  launder: string,
  figure: "run.balance.grade" | "run.balance.recovery",
  { refusal, said }: Expectation,
) {
  if (refusal === null) return [];
  const { words, attributes } = saidWords(refusal, said);
  return [el("li", {}, `${launder}, ${say(figure)}: `, el("span", attributes, words))];
}

/** Each run as it would have been foretold from the others, beside what its assays said. */
function leftOutPart(launders: Expected["launders"]): HTMLElement[] {
  const rows = launders.flatMap(({ launder, grade }) =>
    grade.leftOut.map(({ run, foretold, assaySays }) => [
      `${launder}, ${run}`,
      measured(foretold.value, foretold.error, "%"),
      measured(assaySays.value, assaySays.error, "%"),
    ]),
  );
  if (rows.length === 0) return [];
  const heads = [say("run.expected.launder"), say("run.expected.foretold"), say("run.expected.assayed")];
  return [
    el(
      "details",
      {},
      el("summary", {}, say("run.expected.leftOut")),
      wideTable(say("run.expected.leftOut"), heads, rows),
    ),
  ];
}
