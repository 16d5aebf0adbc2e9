import { readdirSync, readFileSync } from "node:fs";
import { fileURLToPath } from "node:url";
import { expect, it } from "vitest";
import { SYMPTOMS } from "../../vision/advice/symptoms.ts";
import { type SaidValue, SEEN_BY_EYE } from "../../vision/contract/index.ts";
import { ViewError } from "../../vision/errors.ts";
import { asMm, asShare, hintOf, inEnglish, issueOf, said } from "../../vision/said.ts";
import english from "../../vision/sentences/en.json" with { type: "json" };
import { SOURCES } from "../../vision/sources.ts";

it("says a sentence in English with its numbers and units", () => {
  expect(inEnglish(said("said.seen.dry", { share: asShare(0.0421) }))).toBe(
    "A dry patch: the water film has broken on 4 % of the deck.",
  );
  expect(inEnglish(said("said.seen.dry", { share: asShare(0.004) }))).toContain("on less than 1 % of the deck");
  expect(inEnglish(said("said.seen.blur", { now: asMm(40), before: asMm(18) }))).toBe(
    "The bands change into each other over 40 mm; before it was 18 mm.",
  );
  const at = { value: 320, error: 12, unit: "mm" } as const;
  expect(inEnglish(said("said.why.divide", { upper: "dense", lower: "middling", at }))).toBe(
    "dense and middling divide at 320 ± 12 mm.",
  );
  expect(inEnglish(said("said.why.splitterAt", { name: "upper", at: { value: 0.123, unit: "ofOutlet" } }))).toBe(
    "Splitter “upper” stands at 12.3 % of the outlet.",
  );
  const places: SaidValue = { value: [90, 190], unit: "mm" };
  expect(inEnglish(said("said.why.takeCuts", { wide: asMm(20), places, grains: 50 }))).toContain("at 90, 190 mm of");
});

it.each([
  [1, "one streak"],
  [3, "3 streaks"],
])("counts %d as %s", (count, words) => {
  expect(inEnglish(said("said.seen.rills", { count }))).toBe(`Water runs in ${words} instead of a sheet.`);
});

it("joins sentences, and gives documents both the words and the names", () => {
  const caution = [...said("said.caution.handsClear"), ...said("said.caution.lockOut")];
  const hint = hintOf({
    control: "inspect",
    target: null,
    direction: "hold",
    amount: null,
    toMm: null,
    because: [said("said.seen.denseGone")],
    evidence: {},
    expect: said("said.expect.denseBack"),
    lookAgainMinutes: 2,
    caution,
    basis: [SOURCES.photo],
    confidence: 1,
  });
  expect(hint.caution).toBe(
    "Keep hands clear of the moving deck and leave the guards on. Stop and lock out the drive before reaching near it.",
  );
  expect(hint.said).toEqual({
    because: [[{ key: "said.seen.denseGone" }]],
    expect: [{ key: "said.expect.denseBack" }],
    caution: [{ key: "said.caution.handsClear" }, { key: "said.caution.lockOut" }],
  });
  expect(issueOf("glare", said("said.photo.glare", { share: asShare(0.2) }), 0.2)).toEqual({
    kind: "glare",
    share: 0.2,
    say: "Glare hides 20 % of the deck. Take the photo from another side or shade the lamp.",
    said: [{ key: "said.photo.glare", values: { share: { value: 0.2, unit: "share" } } }],
  });
});

it("an error says the same by name; one that nobody at the table can mend has words alone", () => {
  const error = new ViewError("corners-cross", said("said.refused.cornersCross"));
  expect(error.message).toBe(inEnglish(error.said!));
  expect(new ViewError("corners-cross", "in words").said).toBeNull();
});

/** All program text that can name a sentence. */
const sources = ["vision", "server"]
  .flatMap((folder) => {
    const at = fileURLToPath(new URL(`../../${folder}/`, import.meta.url));
    return readdirSync(at, { recursive: true, encoding: "utf8" })
      .filter((file) => file.endsWith(".ts"))
      .map((file) => ({ file: `${folder}/${file}`, text: readFileSync(at + file, "utf8") }));
  })
  .filter(({ file }) => !/training/.test(file));
const text = sources.map((one) => one.text).join("\n");

it("every sentence is said somewhere", () => {
  const made = [
    ...[..."01"].flatMap((a) => [..."01"].map((b) => `${+a ? "Purity" : ""}${+b ? "Recovery" : ""}`)).filter(Boolean),
  ].flatMap((asked) => [`said.why.no${asked}`, `said.why.gives${asked}`]);
  const parts = ["back", "other", "more", "keep", "wait"].map((next) => `said.helped.${next}`);
  const fields = [...text.matchAll(/told\((?:issue\.inclusive \? )?"(\w+)"(?: : "(\w+)")?/g)].flatMap(([, a, b]) =>
    [a, b].map((name) => `said.field.${name}`),
  );
  const rows = [...text.matchAll(/new RowFault\((?:\w+ === "" \? )?"(\w+)"(?: : "(\w+)")?/g)].flatMap(([, a, b]) =>
    [a, b].map((name) => `said.sheet.${name}`),
  );
  const known = new Set([...made, ...parts, ...fields, ...rows]);
  const unused = Object.keys(english).filter((key) => !text.includes(`"${key}"`) && !known.has(key));
  expect(unused).toEqual([]);
});

it("nothing that a hint, an issue or a refusal says is written beside the sentences", () => {
  const bare =
    /\b(?:because: \[\s*["`]|(?:expect|caution|say|cause): ["`][A-Z])|new (?:View|Photo|Notes)Error\(\s*"[\w-]+",\s*["`]/g;
  const allowed = /^vision\/(accounts|process)\//; // runs and physics have sentences of their own
  const found = sources
    .filter(({ file }) => !allowed.test(file))
    .flatMap(({ file, text: own }) => [...own.matchAll(bare)].map(([match]) => `${file}: ${match}`));
  expect(found).toEqual([]);
});

it("every symptom has a cause and something to expect, every source and sight by eye its sentence", () => {
  for (const { cause, expect: then } of SYMPTOMS)
    for (const { key } of [...cause, ...then]) expect(english).toHaveProperty([key]);
  for (const { source, said: named } of Object.values(SOURCES)) expect(inEnglish([named!])).toBe(source);
  expect(Object.keys(english).filter((key) => key.startsWith("said.eye."))).toHaveLength(SEEN_BY_EYE.length);
});
