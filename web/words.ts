import type { Hint, Reading, StageEvent, Tap } from "../vision/contract/index.ts";

/** Readings and hints in the words of people at the table. Every number has its unit. */

export const STAGE_WORDS: Record<StageEvent["stage"], string> = {
  waiting: "Waiting for its turn",
  photo: "Opening the photo",
  view: "Finding the deck in it",
  rectify: "Laying the deck flat",
  light: "Evening out the light",
  classes: "Telling the bands apart",
  bands: "Measuring the bands",
  advice: "Working out the next step",
};

export const SAFETY: readonly string[] = [
  "Stop and lock out the drive before reaching near it. Guards stay on. Never lean over the drive to take a photo.",
  "Keep electrics dry and on a residual-current device.",
  "Levering a deck: two people, hands clear of the legs.",
  "Wet fine silica, lead-bearing ore and electronic scrap: keep it wet, wear protection, wash before eating.",
  "No mercury.",
  "Discharge water and tailings only as the local authority permits.",
  "Hints are suggestions from a picture: local codes, the machine's own manual and licensed people come first.",
];

/**
 * Places along the outlet as people are shown them: mm, or per cent of the outlet when the deck's size is assumed.
 * An assumed deck is a rectangle whose outlet runs along its end and its low side, so the grid gives its length.
 */
export function outletUnits(reading: Reading) {
  const grid = reading.grid ?? { mmPerCell: 1, columns: 1, rows: 1 };
  const assumed = reading.scale === "assumed";
  const totalMm = (grid.columns + grid.rows) * grid.mmPerCell;
  const number = (mm: number) => (assumed ? ((100 * mm) / totalMm).toFixed(1) : String(Math.round(mm)));
  const unit = assumed ? "%" : "mm";
  return {
    assumed,
    unit,
    number,
    say: (mm: number) => `${number(mm)} ${unit}`,
    error: (mm: number | null) => (mm === null ? "" : ` ± ${assumed ? number(mm) : Math.max(1, Math.round(mm))}`),
  };
}

/** What went wrong, as a heading; the detail below it says what to do. */
export function problemTitle(code: string): string {
  if (code === "busy") return "Many photos wait.";
  if (code === "photo-timeout") return "This photo took too long.";
  if (code.startsWith("photo-")) return "This photo cannot be used.";
  if (code.startsWith("corners-")) return "The corners do not fit.";
  if (code.startsWith("deck-")) return "The deck file cannot be used.";
  return "That did not work.";
}

/** What a spot can show, in the order of the buttons. */
export const TAP_WORDS: Record<
  Tap["class"],
  { readonly name: string; readonly looks: string; readonly letter: string }
> = {
  dense: { name: "Dense", looks: "heavy product", letter: "D" },
  middling: { name: "Middling", looks: "between the two", letter: "M" },
  light: { name: "Light", looks: "waste, tailings", letter: "L" },
  bare: { name: "Bare", looks: "wet deck, no solids", letter: "B" },
  dry: { name: "Dry", looks: "no water over it", letter: "!" },
};

export function tapSummary(taps: readonly Tap[]): string {
  if (taps.length === 0) return "No spot yet. Choose what a spot shows, then tap it.";
  const counts = (Object.keys(TAP_WORDS) as Tap["class"][]).flatMap((name) => {
    const count = taps.filter((tap) => tap.class === name).length;
    return count > 0 ? [`${count} ${TAP_WORDS[name].name.toLowerCase()}`] : [];
  });
  return `${taps.length} ${taps.length === 1 ? "spot" : "spots"}: ${counts.join(", ")}.`;
}

/** The change itself, as one order. */
export function hintHeadline(hint: Hint, reading: Reading): string {
  const by = hint.amount ? ` by ${say(hint.amount)}` : " a little at a time";
  const up = hint.direction === "raise";
  if (hint.direction === "hold" && !(hint.control in HOLD_WORDS))
    return `Keep ${CONTROL_WORDS[hint.control]} as it is.`;
  switch (hint.control) {
    case "splitter":
      return splitterHeadline(hint, reading);
    case "washWater":
    case "feedWater":
      return `Turn the ${CONTROL_WORDS[hint.control]} ${up ? "up" : "down"}${by}.`;
    case "feedRate":
      return `Feed ${up ? "faster" : "slower"}${by}.`;
    case "feedSolids":
      return `${up ? "Thicken" : "Thin"} the feed${by}${hint.amount?.unit === "%" ? " solids" : ""}.`;
    case "crossSlope":
      return `Make the cross slope ${up ? "steeper" : "flatter"}${by}.`;
    case "endSlope":
      return `${up ? "Raise" : "Lower"} the dense-product end${by}.`;
    case "stroke":
      return `Make the stroke ${up ? "longer" : "shorter"}${by}.`;
    case "speed":
      return `Run the drive ${up ? "faster" : "slower"}${by}.`;
    default:
      return HOLD_WORDS[hint.control] ?? "Leave it as it is.";
  }
}
const CONTROL_WORDS: Record<Hint["control"], string> = {
  splitter: "the splitter",
  washWater: "wash water",
  feedWater: "feed water",
  feedRate: "the feed rate",
  feedSolids: "the feed's solids",
  feedSpread: "the spread of the feed",
  washPipe: "the wash-water pipe",
  crossSlope: "the cross slope",
  endSlope: "the end slope",
  level: "the level",
  stroke: "the stroke",
  speed: "the speed",
  inspect: "it",
  none: "it",
};
const HOLD_WORDS: Partial<Record<Hint["control"], string>> = {
  feedSpread: "Spread the feed evenly along the feed box.",
  washPipe: "See to the wash-water pipe.",
  level: "Check the deck's level.",
  inspect: "Look at the table here first.",
  none: "Leave it as it is.",
};
const say = ({ value, unit }: NonNullable<Hint["amount"]>) =>
  `${value} ${unit === "1/min" ? "strokes a minute" : unit}`;

function splitterHeadline({ target, direction, amount, toMm }: Hint, reading: Reading): string {
  const units = outletUnits(reading);
  const name = target ? `the ${target} splitter` : "the splitter";
  const way = direction === "raise" ? "toward the tailings" : "toward the wash-water corner";
  // An amount in mm is shown in per cent where the deck's size is a guess; one in per cent is so already.
  const by = amount ? `${amount.unit === "mm" ? units.say(amount.value) : say(amount)} ` : "";
  const to = toMm === null ? "" : `, to ${units.say(toMm)}${units.assumed ? " of the outlet" : ""}`;
  return `Move ${name} ${by}${way}${to}.`;
}

/** A share in per cent; the sign never stands on a line of its own. */
export const percent = (share: number) => `${(share * 100).toFixed(share > 0 && share < 0.1 ? 1 : 0)}\u00a0%`;

/** How sure, as people say it, with the number behind it. */
export function sureness(confidence: number): string {
  const word = confidence >= 0.8 ? "quite sure" : confidence >= 0.55 ? "fairly sure" : "not very sure";
  return `${word} (${percent(confidence)})`;
}
