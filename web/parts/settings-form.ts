import { SEEN_BY_EYE, type SettingsFile } from "../../vision/contract/index.ts";
import { EDGE_COUNT, SEEN_WORDS } from "../../vision/telling/index.ts";
import { splittersOf } from "../deck.ts";
import { button, el, fill } from "../element.ts";
import { numberField } from "../number-field.ts";
import type { State } from "../state.ts";
import { type TypedNumber, typedNumber } from "../typed-number.ts";
import { typedUnit, type Unit } from "../units.ts";
import { type Key, say, splitterName } from "../words.ts";

export interface SettingsActions {
  readonly settings: (settings: SettingsFile) => void;
  /** Where splitters stand, outlet mm, by name. */
  readonly splitters: (splittersMm: Readonly<Record<string, number>>) => void;
}

/** The controls that hints use: [name, words, unit, least, most]. */
const FIELDS = [
  ["washWaterLitresPerMinute", "settings.washWater", "L/min", 0, 1000],
  ["feedWaterLitresPerMinute", "settings.feedWater", "L/min", 0, 1000],
  ["crossSlopeMmPerM", "settings.crossSlope", "mm/m", -200, 200],
  ["endSlopeMmPerM", "settings.endSlope", "mm/m", -200, 200],
  ["feedKgPerHour", "settings.feedRate", "kg/h", 0, 5000],
  ["feedSolidsPercent", "settings.feedSolids", "%", 0, 80],
  ["strokeMm", "settings.stroke", "mm", 1, 60],
  ["strokesPerMinute", "settings.speed", "1/min", 0, 600],
  ["waterTemperatureCelsius", "settings.temperature", "°C", 0, 60],
] as const satisfies readonly (readonly [keyof SettingsFile, Key, Unit, number, number])[];
type FieldName = (typeof FIELDS)[number][0];

/** What is counted in a cut: the place along the outlet, then grains. */
const COUNTED = [
  ["atMm", "counts.at", "mm", 10_000],
  ["dense", "class.dense", "", 100_000],
  ["middling", "class.middling", "", 100_000],
  ["light", "class.light", "", 100_000],
] as const satisfies readonly (readonly [string, Key, Unit, number])[];
const MOST_CUTS = 8;

/** What the controls stand at and what was seen by eye, where the person knows it; empty fields are left out. */
export function settingsForm(actions: SettingsActions) {
  let settings: SettingsFile = {};
  const fields = FIELDS.map(([name, words, unit, least, most]) => {
    const put = (value: number | null) => {
      // what was counted holds for the settings it was counted at
      const { [name]: _, edgeCounts: _counts, ...others } = settings;
      actions.settings(value === null ? others : { ...others, [name]: value });
    };
    return numberField(`setting-${name}`, unit, (unit) => say(words, { unit }), null, [least, most], put);
  });
  const splitters = el("div");
  let splitterFields: ReturnType<typeof numberField>[] = [];
  const seen = SEEN_BY_EYE.map((what) => {
    const box = el("input", {
      type: "checkbox",
      id: `seen-${what.replaceAll(/\W+/g, "-")}`,
      onchange: () => {
        const all = SEEN_BY_EYE.filter((one, i) => (one === what ? box.checked : seen[i]!.box.checked));
        const { seen: _, ...others } = settings;
        actions.settings(all.length > 0 ? { ...others, seen: all } : others);
      },
    });
    const row = el("div", { class: "check" }, box, el("label", { for: box.id }, say(SEEN_WORDS[what])));
    return { what, box, row };
  });
  const counts = countsForm((edgeCounts) => {
    const { edgeCounts: _, ...others } = settings;
    actions.settings(edgeCounts.length > 0 ? { ...others, edgeCounts } : others);
  });
  const controls = el(
    "details",
    { class: "card settings" },
    el("summary", {}, say("settings.title")),
    el("p", { class: "hint-line" }, say("settings.why")),
    ...fields.map(({ row }) => row),
    splitters,
  );
  const element = el(
    "div",
    {},
    controls,
    el("details", { class: "card" }, el("summary", {}, say("seen.title")), ...seen.map(({ row }) => row)),
    el("details", { class: "card" }, el("summary", {}, say("counts.title")), counts.element),
  );
  let shownSplitters = "";
  const update = (state: State) => {
    settings = state.settings;
    for (const [i, field] of fields.entries()) show(field, settings[FIELDS[i]![0] as FieldName]);
    for (const { what, box } of seen) box.checked = settings.seen?.includes(what) ?? false;
    counts.update(settings.edgeCounts ?? [], askedFor(state));
    const named = splittersOf(state.deck);
    const names = named.map(({ name }) => name).join("\n");
    if (names !== shownSplitters) {
      shownSplitters = names;
      splitterFields = named.map(({ name }, i) => {
        const put = (mm: number | null) => {
          const { [name]: _, ...others } = standing;
          actions.splitters(mm === null ? others : { ...others, [name]: mm });
        };
        const words = (unit: string) => say("settings.splitter", { name: splitterName(name), unit });
        return numberField(`splitter-${i}`, "mm", words, null, [0, 10_000], put);
      });
      fill(splitters, ...splitterFields.map(({ row }) => row));
    }
    standing = state.splittersMm;
    for (const [i, { name, atMm }] of named.entries()) show(splitterFields[i]!, standing[name] ?? atMm);
  };
  let standing: Readonly<Record<string, number>> = {};
  /** Words for what is wrong with the entries, or null. */
  const fault = () => {
    const wrong = [...fields, ...splitterFields].find(({ field }) => !field.validity.valid);
    if (!wrong) return null;
    controls.open = true;
    wrong.field.focus();
    return wrong.range;
  };
  return { element, update, fault };
}

const show = ({ field, put }: Pick<TypedNumber, "field" | "put">, value: number | undefined) => {
  if (document.activeElement !== field) put(value ?? null);
};

/** Where the last reading asks for counts, outlet mm. */
function askedFor({ result }: State): readonly number[] {
  const asked = result?.reading.advice.find(({ target }) => target === EDGE_COUNT)?.evidence.cutAtMm;
  return Array.isArray(asked) ? asked : [];
}

type EdgeCounts = NonNullable<SettingsFile["edgeCounts"]>;
/** Cuts at the outlet with the grains counted in each; a row counts when all of it is there. */
function countsForm(change: (counts: EdgeCounts) => void) {
  const rows: TypedNumber[][] = [];
  const list = el("div");
  const more = button(say("counts.more"), () => addRow(), { class: "quiet" });
  const read = () => {
    const whole = rows.map((row) => row.map(({ value }) => value())).filter((row) => !row.includes(null));
    change(
      whole.map(([atMm, dense, middling, light]) => {
        return { atMm: atMm!, grains: { dense: dense!, middling: middling!, light: light! } };
      }),
    );
  };
  function addRow(): void {
    const cut = rows.length + 1;
    const row = COUNTED.map(([name, key, unit, most]) => {
      const words = say(key, { unit: typedUnit(unit).unit });
      return typedNumber(`count-${cut}-${name}`, unit, [0, most], read, {
        "aria-label": `${say("counts.cut", { cut })}: ${words}`,
        placeholder: words,
        ...(unit === "" && { step: "1", inputmode: "numeric" }),
      });
    });
    rows.push(row);
    list.append(el("div", { class: "fields cut" }, ...row.map(({ field }) => field)));
    more.hidden = rows.length >= MOST_CUTS;
  }
  addRow();
  const update = (counts: EdgeCounts, wantedMm: readonly number[]) => {
    if (list.contains(document.activeElement)) return;
    const isEmpty = rows.every((row) => row.every(({ field }) => field.value === ""));
    while (rows.length < Math.max(counts.length, wantedMm.length) && rows.length < MOST_CUTS) addRow();
    if (isEmpty && counts.length === 0) {
      for (const [i, row] of rows.entries()) row[0]!.put(wantedMm[i] ?? null);
      return;
    }
    for (const [i, row] of rows.entries()) {
      const { atMm, grains } = counts[i] ?? {};
      const values = [atMm, grains?.dense, grains?.middling, grains?.light];
      // a row that is only half there is the person's, until another photo comes
      if (counts[i] || row.every(({ field }) => field.value !== "")) {
        for (const [k, number] of row.entries()) number.put(values[k] ?? null);
      }
    }
  };
  return { element: el("div", {}, el("p", { class: "hint-line" }, say("counts.how")), list, more), update };
}
