import { existsSync, readdirSync, readFileSync } from "node:fs";
import { fileURLToPath } from "node:url";
import { IntlMessageFormat } from "intl-messageformat";
import { expect, it } from "vitest";

/** Every language says everything: what the page says, and what readings say. */

const folder = fileURLToPath(new URL("../../web/words/", import.meta.url));
const sentences = fileURLToPath(new URL("../../vision/sentences/", import.meta.url));
type Words = Record<string, string>;
const read = (path: string): Words => JSON.parse(readFileSync(path, "utf8"));
const english = read(`${folder}en.json`);
const told = read(`${sentences}en.json`);
const languagesIn = (at: string) => readdirSync(at).filter((file) => file.endsWith(".json") && file !== "en.json");
const others = languagesIn(folder);
const languageOf = (path: string) => path.replace(/^.*\/|\.json$/g, "");
const all = others.flatMap((file) => [
  [`web/words/${file}`, folder + file, english],
  [`vision/sentences/${file}`, sentences + file, told],
]) as [name: string, path: string, english: Words][];

type Ast = ReturnType<IntlMessageFormat["getAst"]>;
/** The arguments that a message takes, those inside plurals and selects too. */
const argumentsOf = (ast: Ast): string[] =>
  ast.flatMap((part) => [
    ...("value" in part && part.type !== 0 ? [String(part.value)] : []),
    ...("options" in part ? Object.values(part.options).flatMap(({ value }) => argumentsOf(value)) : []),
  ]);
const parse = (text: string, language: string) => new IntlMessageFormat(text, language, undefined, { ignoreTag: true });
const takes = (text: string, language: string) => [...new Set(argumentsOf(parse(text, language).getAst()))].sort();

it("has English, Spanish, Portuguese, French, Swahili and Indonesian", () => {
  expect(others).toEqual(expect.arrayContaining(["es.json", "pt.json", "fr.json", "sw.json", "id.json"]));
  expect(languagesIn(sentences)).toEqual(others);
});

it.each(all)("%s has every sentence, none empty, with the same things to fill in", (_name, path, english) => {
  const language = languageOf(path);
  const words = read(path);
  expect(Object.keys(words).sort()).toEqual(Object.keys(english).sort());
  for (const [key, text] of Object.entries(words)) {
    expect(text.trim(), key).not.toBe("");
    expect(takes(text, language), key).toEqual(takes(english[key]!, "en"));
  }
});

/** Words that some of the languages share with English. */
const SHARED = [
  "class.dense",
  "taps.dense",
  "result.classes",
  "material.name",
  "rep.metal",
  "rep.photo",
  "rep.photos",
  "rep.column.item",
  "gallery.materialIs",
  "run.plan.of.galena",
  "run.plan.of.chalcopyrite",
  "run.plan.of.scheelite",
  "run.plan.of.chromite",
  "run.plan.shape.grains",
  "run.plan.shape.cubes",
  ...["chromite", "feldspar", "galena", "garnet", "olivine", "quartz", "scheelite", "wolframite", "zircon"].map(
    (mineral) => `stuff.${mineral}`,
  ),
];

it.each(others)("%s says which way it is written", (file) => {
  expect(["ltr", "rtl"]).toContain(read(folder + file)["language.direction"]);
});

it.each(all)("%s is translated: hardly a sentence is the English one", (_name, path, english) => {
  const words = read(path);
  // places made of placeholders alone, letters, and words that two languages share
  const same = Object.keys(english).filter(
    (key) => words[key] === english[key] && /[a-z]{4}/.test(words[key]!.replace(/\{[^}]*\}/g, "")),
  );
  expect(same.filter((key) => !SHARED.includes(key))).toEqual([]);
});

it.each(["en.json", ...others])("%s gives each class a letter of its own", (file) => {
  const words = read(folder + file);
  const letters = ["dense", "middling", "light", "bare", "dry"].map((name) => words[`taps.${name}.letter`]!);
  expect(new Set(letters).size).toBe(5);
  for (const letter of letters) expect([...letter]).toHaveLength(1);
});

it.each([`${folder}en.json`, `${sentences}en.json`, ...all.map(([, path]) => path)])(
  "%s fills its sentences in, one and many",
  (path) => {
    const language = languageOf(path);
    for (const [key, text] of Object.entries(read(path))) {
      for (const count of [1, 5]) {
        const values = Object.fromEntries(
          takes(text, language).map((name) => [name, /^(photos|readings|count|minutes)$/.test(name) ? count : "raise"]),
        );
        const said = String(parse(text, language).format(values));
        expect(said, key).not.toMatch(/[{}]|undefined/);
      }
    }
  },
);

it("says nothing that page, server and accounts do not: every name is used", () => {
  const folders = [
    "web/",
    "web/parts/",
    "server/",
    "server/jobs/",
    "server/alarms/",
    "vision/telling/",
    "vision/accounts/",
  ];
  const sources = folders.flatMap((part) => {
    const at = fileURLToPath(new URL(`../../${part}`, import.meta.url));
    if (!existsSync(at)) return [];
    return readdirSync(at)
      .filter((name) => name.endsWith(".ts"))
      .map((name) => readFileSync(at + name, "utf8"));
  });
  const all = sources.join("\n");
  /** Names made of parts: `hint.${control}.hold`. */
  const patterns = [...all.matchAll(/`([a-z]+\.[^`\s]*\$\{[^`]*)`/gi)].map(
    ([, name]) =>
      new RegExp(
        `^${name!
          .split(/\$\{[^}]*\}/)
          .map((part) => part.replaceAll(".", "\\."))
          .join("[^.]+")}$`,
      ),
  );
  const isUsed = (key: string) => all.includes(`"${key}"`) || patterns.some((p) => p.test(key));
  // accounts name their sentences without `told.`
  const unused = Object.keys(english).filter((key) => !isUsed(key) && !isUsed(key.replace(/^told\./, "")));
  expect(unused).toEqual([]);
});
