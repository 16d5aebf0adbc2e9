import { readFileSync } from "node:fs";
import { expect, it, vi } from "vitest";
import type { Hint, Reading, ShownReference } from "../../vision/contract/index.ts";
import { hintHeadline, ISSUES, issueWords, outletUnits } from "../../web/reading-words.ts";
import {
  inEnglish,
  LANGUAGES,
  percent,
  photoNote,
  photoTitle,
  problemTitle,
  speak,
  splitterName,
  stuff,
} from "../../web/words.ts";

/** A deck of 1800 × 900 mm on a 2 mm grid: its outlet is 2700 mm long. */
const reading = { scale: "deck file", grid: { mmPerCell: 2, columns: 900, rows: 450 } } as Reading;
const assumed: Reading = { ...reading, scale: "assumed" };
const hint: Hint = {
  control: "splitter",
  target: "upper",
  direction: "lower",
  amount: { value: 18, unit: "mm" },
  toMm: 222,
  because: ["…"],
  evidence: {},
  expect: "…",
  lookAgainMinutes: 5,
  caution: null,
  basis: [{ source: "…", kind: "computed" }],
  confidence: 0.8,
};

/** A unit never stands on a line of its own. */
const plain = (words: string) => words.replaceAll("\u00a0", " ");

it.each([
  [hint, "Move the upper splitter 18 mm toward the wash-water corner, to 222 mm."],
  [{ ...hint, direction: "raise" }, "Move the upper splitter 18 mm toward the tailings, to 222 mm."],
  [
    { ...hint, control: "washWater", direction: "raise", amount: { value: 1.5, unit: "L/min" } },
    "Turn the wash water up by 1.5 L/min.",
  ],
  [{ ...hint, control: "crossSlope", amount: { value: 3, unit: "mm/m" } }, "Make the cross slope flatter by 3 mm/m."],
  [{ ...hint, control: "speed", amount: { value: 10, unit: "1/min" } }, "Run the drive slower by 10 strokes a minute."],
  [{ ...hint, control: "none", direction: "hold", amount: null }, "Leave it as it is."],
  [{ ...hint, control: "washWater", direction: "raise", amount: null }, "Turn the wash water up a little at a time."],
] as [Hint, string][])("says a hint as one order (%#)", (given, words) => {
  expect(plain(hintHeadline(given, reading))).toBe(words);
});

it("shows per cent of the outlet, never mm, when the deck's size is assumed", () => {
  expect(hintHeadline(hint, assumed)).toBe(
    "Move the upper splitter 0.7 % toward the wash-water corner, to 8.2 % of the outlet.",
  );
  const inPercent: Hint = { ...hint, amount: { value: 4, unit: "%" }, toMm: null };
  expect(plain(hintHeadline(inPercent, assumed))).toBe("Move the upper splitter 4 % toward the wash-water corner.");
  expect(outletUnits(assumed).say(1350)).toBe("50.0 %");
  expect(plain(outletUnits(reading).say(1350))).toBe("1350 mm");
});

it.each([
  ["photo-format", "This photo cannot be used."],
  ["photo-timeout", "This photo took too long."],
  ["corners-cross", "The corners do not fit."],
  ["deck-file", "The deck file cannot be used."],
  ["busy", "Many photos wait."],
  ["engine-failed", "That did not work."],
])("heads the problem %s with words of the trade, not of HTTP", (code, words) => {
  expect(problemTitle(code)).toBe(words);
});

it.each([
  [0, "0 %"],
  [0.034, "3.4 %"],
  [0.5, "50 %"],
])("says the share %d as %s", (share, words) => {
  expect(percent(share)).toBe(words.replace(" ", "\u00a0"));
});

it("says what limits a photo in the language spoken; in English, with its numbers, where it has no words", async () => {
  const far = { kind: "far", say: "The deck fills only 5 % of the picture." }; // of a reading without names
  expect(issueWords(far)).toMatchObject({ words: far.say, attributes: {} });
  vi.stubGlobal("navigator", { languages: ["es-PE"] });
  await speak("es");
  expect(issueWords(far).words).toMatch(/^Demasiado lejos/);
  expect(issueWords({ kind: "of tomorrow", say: "Odd." })).toMatchObject({
    words: "Odd.",
    attributes: { lang: "en", dir: "ltr" },
  });
  const all = ISSUES.map((kind) => issueWords({ kind, say: "English" }).words);
  expect(all).not.toContain("English");
  expect(new Set(all).size).toBe(ISSUES.length);
  await speak("en");
  vi.unstubAllGlobals();
});

const { references } = JSON.parse(
  readFileSync(new URL("../../sample-images/gallery/references.json", import.meta.url), "utf8"),
) as { references: Pick<ShownReference, "id" | "title" | "note" | "seed" | "material">[] };

it("says what references show in each language: titles, notes and materials, in English as they are stored", async () => {
  vi.stubGlobal("navigator", { languages: [] });
  for (const language of LANGUAGES) {
    await speak(language);
    for (const reference of references) {
      const [title, note] = [photoTitle(reference), photoNote(reference)];
      const names = Object.values(reference.material).flatMap((name) => (name === null ? [] : [stuff(name)]));
      // words of another language would say so
      for (const { attributes } of [title, ...(reference.note ? [note] : []), ...names]) expect(attributes).toEqual({});
      if (language === "en") {
        expect([title.words, note.words]).toEqual([reference.title, reference.note ?? ""]);
      } else {
        expect(title.words).not.toBe(reference.title);
      }
    }
  }
  await speak("en");
  vi.unstubAllGlobals();
});

it("leaves names that people gave as they are", async () => {
  vi.stubGlobal("navigator", { languages: [] });
  await speak("es");
  expect(photoTitle({ id: "r1", title: "Our old table" })).toEqual({ words: "Our old table", attributes: inEnglish() });
  expect(stuff("Kalunga ore").words).toBe("Kalunga ore");
  expect(stuff("locked Kalunga ore").words).toBe("granos mixtos: Kalunga ore");
  expect(["upper", "lower", "gate 3"].map(splitterName)).toEqual(["superior", "inferior", "gate 3"]);
  await speak("en");
  vi.unstubAllGlobals();
});
