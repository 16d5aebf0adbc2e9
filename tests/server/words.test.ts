import { expect, it } from "vitest";
import { z } from "zod";
import { fieldFaults, sayFaults } from "../../server/plain-words.ts";
import { SAFETY_LINES, sayReading } from "../../server/words.ts";
import { DeckFile, type Reading } from "../../vision/contract/index.ts";
import { denseBetween } from "./readings.ts";

const reading = denseBetween(100, 240, 4);

it("says the next step first, then the bands with their doubt, then the safety lines", () => {
  const said = sayReading(reading);
  const order = [
    "Next step",
    "Move the upper splitter 18\u00a0mm toward the wash-water corner, to 222\u00a0mm.",
    "100 ± 4 to 240 ± 4",
    "Glare hides",
    "Take care",
  ];
  const places = order.map((words) => said.indexOf(words));
  expect(places.every((place, i) => place > (places[i - 1] ?? -1))).toBe(true);
  for (const line of SAFETY_LINES) expect(said).toContain(line);
});

it("shows shares of the outlet, never mm, where the size of the deck is a guess", () => {
  const said = sayReading({ ...reading, scale: "assumed" });
  expect(said).toContain("3.6 ± 0.1 to 8.8 ± 0.1"); // of 2740 mm: 915 columns and 455 rows of 2 mm
  expect(said).not.toMatch(/\d mm/);
});

it("says an amount that is in per cent already as it is, and what to do where none is known", () => {
  const [hint] = reading.advice;
  const inPercent = { ...hint!, amount: { value: 4, unit: "%" as const }, toMm: null };
  expect(sayReading({ ...reading, scale: "assumed", advice: [inPercent] })).toContain("upper splitter 4\u00a0%");
  const water = { ...hint!, control: "washWater" as const, target: null, direction: "raise" as const, amount: null };
  expect(sayReading({ ...reading, advice: [{ ...water, toMm: null }] })).toContain(
    "Turn the wash water up a little at a time.",
  );
});

it("says why a photo cannot be read, and nothing that was not seen", () => {
  const unusable: Reading = {
    ...reading,
    quality: { usable: false, issues: [{ kind: "dark", say: "The photo is too dark. Take it in better light." }] },
    bands: [],
    advice: [],
  };
  expect(sayReading(unusable)).toContain("The photo is too dark.");
  expect(sayReading(unusable)).not.toMatch(/Next step|Splitters|Dry patches/);
});

it("names the field and what to do where a file is wrong", () => {
  const wrong = {
    schemaVersion: 1,
    lengthMm: "1830",
    widthMm: 50,
    splitters: [{ name: "", between: ["dense", "lead"] }],
    x: 1,
  };
  const { error } = DeckFile.safeParse(wrong);
  const said = sayFaults(fieldFaults(error ?? new z.ZodError([])), 10);
  expect(said).toContain("lengthMm must be a number.");
  expect(said).toContain("widthMm must be at least 100.");
  expect(said).toContain("splitters[0].name must not be empty.");
  expect(said).toContain('splitters[0].between[1] must be "dense" or "middling" or "light".');
  expect(said).toContain("splitters[0].atMm is missing.");
  expect(said).toContain("x is not a known field");
});
