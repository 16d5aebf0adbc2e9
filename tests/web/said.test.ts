import { afterEach, expect, it, vi } from "vitest";
import { asMm, asShare, hintOf, said } from "../../vision/said.ts";
import { SOURCES } from "../../vision/sources.ts";
import { hintWords, issueWords } from "../../web/reading-words.ts";
import { saidWords } from "../../web/said.ts";
import { exact, given, typedUnit, type Unit } from "../../web/units.ts";
import { speak } from "../../web/words.ts";

afterEach(async () => {
  await in_("en");
  vi.unstubAllGlobals();
});
async function in_(language: string, us = false) {
  vi.stubGlobal("navigator", { languages: [language] });
  vi.stubGlobal("localStorage", {
    getItem: () => (us ? JSON.stringify({ "us-units": "yes" }) : null),
    setItem: () => {},
  });
  await speak(language.slice(0, 2));
}
const plain = (words: string) => words.replaceAll("\u00a0", " ");

const hint = hintOf({
  control: "splitter",
  target: "upper",
  direction: "lower",
  amount: { value: 18.5, unit: "mm" },
  toMm: 221.5,
  because: [
    said("said.why.bandsDivide", {
      upper: "dense",
      lower: "middling",
      divide: asMm(221.5),
      name: "upper",
      at: asMm(240),
    }),
    said("said.seen.rills", { count: 2 }),
  ],
  evidence: {},
  expect: said("said.expect.ownSide", { band: "middling" }),
  lookAgainMinutes: 2,
  caution: [...said("said.caution.handsClear"), ...said("said.caution.keepDry")],
  basis: [SOURCES.order],
  confidence: 0.9,
});

it.each([
  [
    "es-PE",
    "Las bandas densa y mixta se dividen en 221.5 mm; el divisor «superior» está en 240 mm.",
    "El agua corre en 2 hilos en vez de en una capa.",
  ],
  [
    "es-ES",
    "Las bandas densa y mixta se dividen en 221,5 mm; el divisor «superior» está en 240 mm.",
    "El agua corre en 2 hilos en vez de en una capa.",
  ],
  [
    "pt-BR",
    "As faixas densa e mista se dividem em 221,5 mm; o divisor “superior” está em 240 mm.",
    "A água corre em 2 fios em vez de uma camada.",
  ],
  [
    "fr-FR",
    "Les bandes dense et mixte se séparent à 221,5 mm ; le diviseur « supérieur » est à 240 mm.",
    "L'eau coule en 2 filets au lieu d'une nappe.",
  ],
  [
    "sw-TZ",
    "Kanda nzito na ya kati zinagawanyika kwenye 221.5 mm; kigawanyaji “cha juu” kiko kwenye 240 mm.",
    "Maji yanatiririka kwa vijito 2 badala ya tabaka.",
  ],
  [
    "id-ID",
    "Pita berat dan tengah berbatas di 221,5 mm; pembagi “atas” ada di 240 mm.",
    "Air mengalir dalam 2 alur bukan sebagai lembaran.",
  ],
])("says a hint in %s, numbers as they are written there", async (language, first, second) => {
  await in_(language);
  const { because, expect: then, caution, basis } = hintWords(hint);
  expect(because.map(({ words }) => plain(words))).toEqual([first, second]);
  for (const { foreign, words } of [...because, then, caution!, ...basis]) {
    expect(foreign, words).toBe(false);
    expect([...hint.because, hint.expect, hint.caution]).not.toContain(words);
  }
});

it("a hint of an older reading, or with a sentence of a newer program, is shown as it was stored, as English", async () => {
  const { said: _, ...old } = hint;
  const newer = { ...hint, said: { ...hint.said!, expect: [{ key: "said.of-tomorrow" }] } };
  await in_("fr-FR");
  expect(hintWords(old).because[0]).toEqual({
    words: hint.because[0],
    foreign: true,
    attributes: { lang: "en", dir: "ltr" },
  });
  expect(hintWords(newer).expect).toMatchObject({ words: hint.expect, foreign: true });
  expect(hintWords(newer).caution).toMatchObject({ foreign: false });
});

it("says what limits a photo with its numbers, less than one per cent too", async () => {
  await in_("id-ID");
  const glare = (share: number) => ({
    kind: "glare",
    say: "…",
    said: said("said.photo.glare", { share: asShare(share) }),
  });
  expect(plain(issueWords(glare(0.213)).words)).toMatch(/^Silau menutupi 21 % dek/);
  expect(plain(issueWords(glare(0.004)).words)).toMatch(/^Silau menutupi kurang dari 1 % dek/);
});

// NIST Handbook 44, appendix C: 1 in = 25.4 mm, 1 ft = 0.3048 m, 1 gal = 3.785 411 784 L, 1 lb = 0.453 592 37 kg; °F = 1.8 °C + 32
it.each([
  [25.4, "mm", "25.4 mm (1.00 in)"],
  [83.3333, "mm/m", "83.3 mm/m (1.000 in/ft)"],
  [3.785411784, "L/min", "3.8 L/min (1.00 US gal/min)"],
  [45.359237, "kg/h", "45 kg/h (100 lb/h)"],
  [20, "°C", "20 °C (68 °F)"],
  [6.4516, "cm²", "6 cm² (1.0 sq in)"],
  [290, "1/min", "290 strokes a minute"],
] as const)("%d %s with US units beside: %s", async (value, unit, words) => {
  await in_("en-US", true);
  expect(plain(exact(value, unit))).toBe(words);
});

// the same table: what is typed in US units is kept in metric ones, and stands there again as it was typed
it.each([
  [72, "in", 1828.8, "mm"],
  [0.25, "in/ft", 20.8333333, "mm/m"],
  [7, "US gal/min", 26.4978825, "L/min"],
  [5, "US gal", 18.9270589, "L"],
  [100, "lb/h", 45.359237, "kg/h"],
  [68, "°F", 20, "°C"],
] as const)("%d %s is typed, %d %s kept", async (typed, name, metric, unit) => {
  await in_("en-US", true);
  const us = typedUnit(unit);
  expect(us.unit).toBe(name);
  expect(us.metric(typed)).toBeCloseTo(metric, 6);
  expect(us.shown(us.metric(typed))).toBe(typed);
});
it("metric numbers are typed as they are kept, and units that both know stay", async () => {
  await in_("en-US");
  for (const unit of ["mm", "L/min", "°C"] satisfies Unit[]) {
    expect([typedUnit(unit).unit, typedUnit(unit).metric(12.345), typedUnit(unit).shown(12.345)]).toEqual([
      unit,
      12.345,
      12.345,
    ]);
  }
  await in_("en-US", true);
  expect([typedUnit("s").unit, typedUnit("s").metric(5.5)]).toEqual(["s", 5.5]);
});

it("US units stand beside in sentences too, with the error, and not where nobody wants them", async () => {
  await in_("en-US", true);
  const text = said("said.why.divide", { upper: "dense", lower: "light", at: { value: 254, error: 12.7, unit: "mm" } });
  expect(plain(saidWords("…", text).words)).toBe("dense and light divide at 254 ± 12.7 mm (10.00 ± 0.50 in).");
  await in_("en-US");
  expect(plain(given(254, "mm"))).toBe("254 mm");
});
