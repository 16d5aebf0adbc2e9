import type { PenaltyName, PriceName, RunEntry, RunSplitters } from "../../vision/contract/index.ts";
import { moneyLines, PENALTY_WORDS, PRICE_WORDS } from "../../vision/telling/index.ts";
import { button, el, fill, labelled } from "../element.ts";
import { type NumberEntry, numberEntry } from "../number-entry.ts";
import type { Said } from "../run-words.ts";
import { keepEntry, keptEntries } from "../set-up-kept.ts";
import { table } from "../table.ts";
import { inEnglish, say, speech } from "../words.ts";

const PERCENT = [0, 100] as const;
const MONEY = [-1e9, 1e9] as const;
const LIMITS: Readonly<Record<PriceName, readonly [number, number]>> = {
  metal: [0, 1e12],
  payable: PERCENT,
  deduction: PERCENT,
  treatment: MONEY,
  rerun: MONEY,
  regrind: MONEY,
  discard: MONEY,
  "hours a day": [0, 24],
  "free won": PERCENT,
  "free won ground": PERCENT,
  "locked won ground": PERCENT,
};

/** Where the splitters bring most money, and the prices that this rests on. */
export function runMoney(write: (entries: readonly RunEntry[]) => void) {
  const told = el("div");
  const form = priceForm(write);
  const element = el("div", { class: "run-money" }, told, form.element);
  /** @param why  Why there is no answer, in words. @param lines  What is written down of the run, the latest first. */
  const update = (splitters: RunSplitters | null, why: Said, lines: readonly { readonly entry: RunEntry }[]) => {
    fill(told, ...(splitters ? tellSplitters(splitters) : [el("p", why.foreign ? inEnglish() : {}, why.say)]));
    form.update(lines.map(({ entry }) => entry));
  };
  return { element, update };
}

function tellSplitters(found: RunSplitters): HTMLElement[] {
  const told = moneyLines(speech, found);
  if (typeof told === "string") return [el("p", {}, told)];
  const { places, worth, also, rests, cautions, heads, rows, careful } = told;
  const list = (lines: readonly string[], attributes = {}) =>
    el("ul", attributes, ...lines.map((line) => el("li", {}, line)));
  return [
    el(
      "div",
      { class: found.gain?.sure ? "verdict" : "verdict caution" },
      list(places),
      ...worth.map((line) => el("p", {}, line)),
    ),
    ...(careful ? [el("p", { class: "hint-line" }, careful)] : []),
    table(say("run.money.launders"), heads, rows),
    list(also),
    el("p", {}, rests),
    list(cautions, { class: "hint-line" }),
  ];
}

/** Prices as they are written down, else as they were typed on this device before. */
function priceForm(write: (entries: readonly RunEntry[]) => void) {
  const names = Object.keys(PRICE_WORDS) as PriceName[];
  const fields = new Map(
    names.map((name) => [
      name,
      numberEntry(
        `price-${name.replaceAll(" ", "-")}`,
        "",
        () => say(PRICE_WORDS[name]),
        LIMITS[name],
        () => {},
      ),
    ]),
  );
  const assay = el("input", {
    id: "run-penalty-assay",
    type: "text",
    maxlength: 40,
    autocomplete: "off",
    value: keptEntries()["run-penalty-assay"] ?? "",
    oninput: () => keepEntry("run-penalty-assay", assay.value),
  });
  const penalties = new Map<PenaltyName, NumberEntry>([
    [
      "penalty",
      numberEntry(
        "price-penalty",
        "",
        () => say(PENALTY_WORDS.penalty),
        MONEY,
        () => {},
      ),
    ],
    [
      "penalty above",
      numberEntry(
        "price-penalty-above",
        "",
        () => say(PENALTY_WORDS["penalty above"]),
        PERCENT,
        () => {},
      ),
    ],
  ]);
  const said = el("p", { class: "said", role: "status" });
  let known: readonly RunEntry[] = [];
  const put = () => {
    const entries: RunEntry[] = [];
    for (const [of, field] of fields) {
      const value = field.value();
      if (value !== null && value !== knownPrice(known, of)) {
        entries.push({ kind: "price", price: { of, figure: { value, error: null } } });
      }
    }
    const name = assay.value.trim();
    for (const [of, field] of penalties) {
      const value = field.value();
      if (name !== "" && value !== null && value !== knownPenalty(known, name, of)) {
        entries.push({ kind: "penalty", penalty: { assay: name, of, figure: { value, error: null } } });
      }
    }
    said.textContent = say("run.money.kept", { count: entries.length });
    if (entries.length > 0) write(entries);
  };
  const element = el(
    "details",
    { id: "run-prices" },
    el("summary", {}, el("h3", {}, say("run.money.prices"))),
    el("p", { class: "hint-line" }, say("run.money.pricesHow")),
    ...[...fields.values()].map((field) => field.element),
    el("h4", {}, say("run.money.penalty")),
    labelled(say("run.money.penaltyFor"), assay),
    ...[...penalties.values()].map((field) => field.element),
    el("div", { class: "choices" }, button(say("run.money.keep"), put, { id: "keep-prices" })),
    said,
  );
  return {
    element,
    update: (entries: readonly RunEntry[]) => {
      known = entries;
      for (const [of, field] of fields) {
        const value = knownPrice(entries, of);
        if (field.value() === null && value !== null) field.put(value);
      }
    },
  };
}

function knownPrice(entries: readonly RunEntry[], of: PriceName): number | null {
  const found = entries.find((entry) => entry.kind === "price" && entry.price.of === of);
  return found?.kind === "price" ? found.price.figure.value : null;
}
function knownPenalty(entries: readonly RunEntry[], assay: string, of: PenaltyName): number | null {
  const found = entries.find(
    (entry) => entry.kind === "penalty" && entry.penalty.of === of && entry.penalty.assay === assay,
  );
  return found?.kind === "penalty" ? found.penalty.figure.value : null;
}
