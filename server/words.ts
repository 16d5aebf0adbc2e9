import type { Band, Hint, Reading } from "../vision/contract/index.ts";
import { type HintUnits, hintOrder, measured, type Speech } from "../vision/telling/index.ts";
import { speechIn } from "./speech.ts";

const ENGLISH = speechIn("en");

/** How far something lies along the outlet, for people: mm, or per cent of it where the deck's size is a guess. */
interface Ruler {
  readonly unit: "mm" | "%";
  show(mm: number): string;
}

/** Always shown below a reading: an instrument beside moving machinery, water and mineral dust. */
export const SAFETY_LINES: readonly string[] = [
  "Stop and lock out the drive before reaching near it; guards stay on. Never lean over the deck for a photo.",
  "Keep electrics dry and on a residual-current device. Lever a deck with two people, hands clear of its legs.",
  "Keep fine silica, lead-bearing ore and electronic scrap wet; wear protection; wash before eating. No mercury.",
  "Discharge water and tailings only as the local authority permits.",
  "A hint is a suggestion from a picture: local codes, the machine's own manual and licensed people come first.",
];

/** One reading in a worker's words: the next step first, then what was seen, then the safety lines. */
export function sayReading(reading: Reading): string {
  const name = reading.photo.takenAt
    ? `${reading.photo.name}, taken ${reading.photo.takenAt.replace("T", " ")}`
    : reading.photo.name;
  if (!reading.quality.usable) {
    return lines([name, "", "This photo cannot be read.", ...issues(reading), "", ...safety()]);
  }
  const ruler = rulerOf(reading);
  return lines([
    name,
    "",
    ...nextSteps(reading, ruler),
    "",
    `Where the bands leave the deck, ${ruler.unit} along the outlet from its first corner (± one standard error)`,
    ...(reading.bands.length > 0 ? reading.bands.map((band) => bandLine(band, ruler)) : ["  no band was seen"]),
    ...reading.outletUnseenMm.map(([from, to]) => `  not seen   ${ruler.show(from)} to ${ruler.show(to)}`),
    "",
    ...splitters(reading, ruler),
    ...dryPatches(reading),
    ...(reading.quality.issues.length > 0 ? ["What limits this photo", ...issues(reading), ""] : []),
    ...(reading.scale === "assumed"
      ? ["No deck file was given: positions are shares of the outlet. Give one to see millimetres.", ""]
      : []),
    ...safety(),
  ]);
}

/** A hint as one instruction, with its reasons below. */
export function sayHint(hint: Hint, ruler: Ruler = MILLIMETRES): string[] {
  return [
    `  ${instruction(hint, ruler)}`,
    ...hint.because.map((reason) => `    Why: ${reason}`),
    `    You should see: ${hint.expect}`,
    `    Look again in ${hint.lookAgainMinutes} ${hint.lookAgainMinutes === 1 ? "minute" : "minutes"}.`,
    ...(hint.caution ? [`    Caution: ${hint.caution}`] : []),
    `    Rests on: ${hint.basis.map(({ source, kind }) => `${source} (${kind})`).join("; ")}. Confidence ${percent(hint.confidence)}.`,
  ];
}

const instruction = (hint: Hint, ruler: Ruler) => hintOrder(ENGLISH, hint, hintUnits(ENGLISH, ruler));

/** How a hint's amounts and places are written beside this ruler. */
export const hintUnits = (speech: Speech, ruler: Ruler): HintUnits => ({
  amount: (value, unit) =>
    unit === "1/min"
      ? speech.say("said.unit.strokes", { value: measured(speech, value, null, "") })
      : measured(speech, value, null, unit),
  place: (mm) => `${ruler.show(mm)}\u00a0${ruler.unit}`,
  assumed: ruler.unit === "%",
});

function nextSteps({ advice }: Reading, ruler: Ruler): string[] {
  const [first, ...others] = advice;
  if (!first) return ["Next step", "  Nothing is suggested from this photo."];
  const later = others.map((hint) => `  ${instruction(hint, ruler)}`);
  return [
    "Next step",
    ...sayHint(first, ruler),
    ...(later.length > 0 ? ["", "If that does not help, one at a time", ...later] : []),
  ];
}

function bandLine(band: Band, ruler: Ruler): string {
  const edge = (mm: number, error: number | null) =>
    error === null ? `${ruler.show(mm)} (end)` : `${ruler.show(mm)} ± ${ruler.show(error)}`;
  const spans = band.outlet.map((s) => `${edge(s.fromMm, s.fromErrorMm)} to ${edge(s.toMm, s.toErrorMm)}`);
  return `  ${band.kind.padEnd(10)} ${spans.join(", ") || "does not reach the outlet"}   confidence ${percent(band.confidence)}`;
}

function splitters(reading: Reading, ruler: Ruler): string[] {
  if (reading.splitters.length === 0) return [];
  const says = reading.splitters.map(({ name, atMm, suggestedMm, errorMm }) => {
    const doubt = errorMm === null ? "" : ` ± ${ruler.show(errorMm)}`;
    const advice =
      suggestedMm === null ? "no better place was found" : `best place ${length(suggestedMm, ruler)}${doubt}`;
    return `  ${name}: stands at ${length(atMm, ruler)}; ${advice}`;
  });
  return ["Splitters", ...says, ""];
}

function dryPatches({ dryPatches: patches, scale }: Reading): string[] {
  if (patches.length === 0) return ["Dry patches: none seen", ""];
  const says = patches.map(({ areaMm2, centre: [x, y], confidence }) =>
    scale === "assumed"
      ? `  one, confidence ${percent(confidence)}`
      : `  ${Math.round(areaMm2 / 100)} cm², ${Math.round(x)} mm along and ${Math.round(y)} mm down, confidence ${percent(confidence)}`,
  );
  return [`Dry patches: ${patches.length}`, ...says, ""];
}

const issues = (reading: Reading) => reading.quality.issues.map(({ say }) => `  ${say}`);
const safety = () => ["Take care", ...SAFETY_LINES.map((line) => `  ${line}`)];
const percent = (share: number) => `${Math.round(share * 100)} %`;
const lines = (all: readonly string[]) => `${all.join("\n")}\n`;
const length = (mm: number, ruler: Ruler) => `${ruler.show(mm)} ${ruler.unit}`;

const MILLIMETRES: Ruler = { unit: "mm", show: (mm) => String(Math.round(mm)) };

/** Where the deck's size is assumed it is a rectangle, whose outlet runs down one short and along one long side. */
export function rulerOf({ scale, grid }: Reading): Ruler {
  if (scale === "deck file" || !grid) return MILLIMETRES;
  const outletMm = (grid.columns + grid.rows) * grid.mmPerCell;
  return { unit: "%", show: (mm) => String(Math.round((mm / outletMm) * 1000) / 10) };
}
