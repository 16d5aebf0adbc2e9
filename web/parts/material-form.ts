import { type AimFile, type MaterialProfile, Product } from "../../vision/contract/index.ts";
import { splittersOf } from "../deck.ts";
import { el, fill } from "../element.ts";
import { numberField } from "../number-field.ts";
import type { State } from "../state.ts";
import { type Key, say } from "../words.ts";

export interface MaterialActions {
  readonly profile: (profile: MaterialProfile) => void;
  readonly aim: (aim: AimFile) => void;
  /** Materials to choose from; rejects where they cannot be had. */
  readonly materials: () => Promise<readonly { readonly name: string; readonly densityKgPerM3: number }[]>;
}

/** What is asked of each: [name, words, least, most]. Sizes in µm, as sieves are named; the profile holds mm. */
const FIELDS = [
  ["density", "material.density", 500, 23_000],
  ["finest", "material.finest", 1, 5000],
  ["coarsest", "material.coarsest", 1, 5000],
  ["share", "material.share", 0, 100],
] as const satisfies readonly (readonly [string, Key, number, number])[];

/** What the bands are made of and what the person wants of them: then hints say by how much. */
export function materialForm(actions: MaterialActions) {
  let profile: MaterialProfile = {};
  let aim: AimFile = {};
  const list = el("datalist", { id: "known-materials" });
  let known: Awaited<ReturnType<MaterialActions["materials"]>> = [];

  const kinds = Product.options.map((kind) => {
    const name = el("input", {
      id: `material-${kind}-name`,
      type: "text",
      list: "known-materials",
      maxlength: 100,
      autocomplete: "off",
      oninput: () => {
        const found = known.find((one) => one.name.toLowerCase() === name.value.trim().toLowerCase());
        if (found) fields[0]!.put(found.densityKgPerM3);
        write();
      },
    });
    const fields = FIELDS.map(([id, words, least, most]) => {
      const put = () => write();
      return numberField(
        `material-${kind}-${id}`,
        "",
        () => say(words),
        `${say(`class.${kind}`)}: ${say(words)}`,
        [least, most],
        put,
      );
    });
    const write = () => {
      const [density, finest, coarsest, share] = fields.map(({ value }) => value());
      const { name: _n, densityKgPerM3: _d, sizeMm: _s, feedShare: _f, ...others } = profile[kind] ?? {};
      const sizes = finest && coarsest ? [Math.min(finest, coarsest) / 1000, Math.max(finest, coarsest) / 1000] : null;
      const said = {
        ...others,
        ...(name.value.trim() !== "" && { name: name.value.trim() }),
        ...(density && { densityKgPerM3: density }),
        ...(sizes && { sizeMm: sizes as [number, number] }),
        ...(share !== null && share !== undefined && { feedShare: share / 100 }),
      };
      const { [kind]: _, ...rest } = profile;
      actions.profile(Object.keys(said).length > 0 ? { ...rest, [kind]: said } : rest);
    };
    const element = el(
      "fieldset",
      { class: "material" },
      el("legend", {}, say(`class.${kind}`)),
      el("div", { class: "fields" }, el("label", { for: name.id }, say("material.name")), name),
      ...fields.map(({ row }) => row),
    );
    return { kind, name, fields, element };
  });

  const floors = (
    [
      ["densePurity", "aim.purity"],
      ["denseRecovery", "aim.recovery"],
    ] as const
  ).map(([name, words]) => {
    const put = (percent: number | null) => {
      const { [name]: _, ...others } = aim;
      actions.aim(percent === null ? others : { ...others, [name]: percent / 100 });
    };
    return { name, ...numberField(`aim-${name}`, "%", () => say(words), say(words), [0, 100], put) };
  });
  const prices = el("div");
  let priceFields: ReturnType<typeof numberField>[] = [];
  const writePrices = () => {
    const values = priceFields.map(({ value }) => value());
    const { perTonne: _, ...others } = aim;
    if (values.every((value) => value === null)) return actions.aim(others);
    if (values.some((value) => value === null)) return; // until all of them are there
    const perTonne = Array.from({ length: values.length / 3 }, (_row, i) => {
      const [dense, middling, light] = values.slice(3 * i, 3 * i + 3);
      return { dense: dense!, middling: middling!, light: light! };
    });
    actions.aim({ ...others, perTonne });
  };
  const layPrices = (launders: number) => {
    priceFields = Array.from({ length: launders }).flatMap((_, i) =>
      Product.options.map((kind) => {
        const words = say(`class.${kind}`);
        const whole = `${say("aim.launder", { number: i + 1 })}: ${words}`;
        return numberField(`price-${i}-${kind}`, "", () => words, whole, [-1e7, 1e7], writePrices);
      }),
    );
    const rows = Array.from({ length: launders }, (_, i) =>
      el(
        "fieldset",
        {},
        el("legend", {}, say("aim.launder", { number: i + 1 })),
        ...priceFields.slice(3 * i, 3 * i + 3).map(({ row }) => row),
      ),
    );
    fill(prices, ...rows);
  };

  const element = el(
    "details",
    {
      class: "card material-form",
      ontoggle: () => {
        if (element.open && known.length === 0) void offer();
      },
    },
    el("summary", {}, say("material.title")),
    el("p", { class: "hint-line" }, say("material.why")),
    list,
    ...kinds.map((one) => one.element),
    el("h3", {}, say("aim.title")),
    el("p", { class: "hint-line" }, say("aim.why")),
    ...floors.map(({ row }) => row),
    el(
      "details",
      {},
      el("summary", {}, say("aim.prices")),
      el("p", { class: "hint-line" }, say("aim.pricesHow")),
      prices,
    ),
  );
  async function offer(): Promise<void> {
    known = await actions.materials().catch(() => []); // without them a density is typed in
    fill(list, ...known.map(({ name }) => el("option", { value: name })));
  }

  let launders = 0;
  const update = (state: State) => {
    profile = state.profile;
    aim = state.aim;
    for (const { kind, name, fields } of kinds) {
      const { name: called = "", densityKgPerM3, sizeMm, feedShare } = profile[kind] ?? {};
      if (document.activeElement !== name) name.value = called;
      const percent = feedShare === undefined ? undefined : 100 * feedShare;
      const values = [densityKgPerM3, sizeMm && 1000 * sizeMm[0], sizeMm && 1000 * sizeMm[1], percent];
      // half a size range is the person's, until it is whole
      if (kinds.some(({ element: one }) => one.contains(document.activeElement))) continue;
      for (const [i, field] of fields.entries()) show(field, values[i]);
    }
    for (const { name, ...floor } of floors) {
      const share = aim[name];
      if (document.activeElement !== floor.field) show(floor, share === undefined ? undefined : 100 * share);
    }
    const now = splittersOf(state.deck).length + 1;
    if (now !== launders) layPrices(now);
    launders = now;
    if (prices.contains(document.activeElement)) return;
    const said = aim.perTonne?.length === launders ? aim.perTonne : [];
    for (const [i, field] of priceFields.entries()) {
      const value = said[Math.floor(i / 3)]?.[Product.options[i % 3] as Product];
      if (said.length > 0 || priceFields.every(({ value: typed }) => typed() !== null)) show(field, value);
    }
  };
  /** Words for what is wrong with the entries, or null. */
  const fault = () => {
    const all = [...kinds.flatMap(({ fields }) => fields), ...floors, ...priceFields];
    const wrong = all.find(({ field }) => !field.validity.valid);
    if (!wrong) return null;
    element.open = true;
    wrong.field.focus();
    return wrong.range;
  };
  return { element, update, fault };
}

const show = ({ put }: Pick<ReturnType<typeof numberField>, "put">, value: number | undefined) =>
  put(value === undefined ? null : Math.round(value * 1000) / 1000);
