import type { Hint } from "../contract/index.ts";
import { splitterName } from "./names.ts";
import type { Speech } from "./speech.ts";

/** What of a hint says the change. */
export type ChangeSaid = Pick<Hint, "control" | "target" | "direction" | "amount" | "toMm">;

/** How amounts and places along the outlet are written for whoever is told. */
export interface HintUnits {
  amount(value: number, unit: string): string;
  /** In per cent of the outlet where the deck's size is a guess. */
  place(mm: number): string;
  readonly assumed: boolean;
}

/** What a hint points at that asks for grains to be counted. */
export const EDGE_COUNT = "grains at the outlet";

/** A hint's change, as one order. */
export function hintOrder(speech: Speech, hint: ChangeSaid, units: HintUnits): string {
  const { control, direction, amount } = hint;
  const { say } = speech;
  if (hint.target === EDGE_COUNT) return say("hint.inspect.count");
  if (direction === "hold") return say(`hint.${control}.hold`);
  switch (control) {
    case "splitter":
      return splitterOrder(speech, hint, units);
    case "feedSpread":
    case "washPipe":
    case "level":
    case "inspect":
    case "none":
      return say(`hint.${control}.hold`);
    default: {
      if (!amount) return say(`hint.${control}.${direction}`);
      const solids = control === "feedSolids" && amount.unit === "%";
      const by = solids
        ? say("hint.solids", { value: speech.number(amount.value, 0, 2) })
        : units.amount(amount.value, amount.unit);
      return say(`hint.${control}.${direction}By`, { by });
    }
  }
}

/** Names of the words for kinds of source. */
export const BASIS_WORDS = {
  published: "basis.published",
  "common practice": "basis.practice",
  "from memory": "basis.memory",
  computed: "basis.computed",
} as const satisfies Record<Hint["basis"][number]["kind"], string>;

/** How sure, as people say it: the end of a word's name. */
export const surenessOf = (confidence: number) =>
  confidence >= 0.8 ? "quite" : confidence >= 0.55 ? "fairly" : "notVery";

function splitterOrder(speech: Speech, { target, direction, amount, toMm }: ChangeSaid, units: HintUnits): string {
  // an amount in mm is shown in per cent where the deck's size is a guess; one in per cent is so already
  const by = amount && (amount.unit === "mm" ? units.place(amount.value) : units.amount(amount.value, amount.unit));
  const place = toMm === null ? null : units.place(toMm);
  const to = place !== null && units.assumed ? speech.say("hint.ofOutlet", { place }) : place;
  return speech.say("hint.splitter", {
    named: target ? "yes" : "no",
    name: target === null ? "" : splitterName(speech, target),
    hasBy: by ? "yes" : "no",
    by: by ?? "",
    direction,
    hasTo: to ? "yes" : "no",
    to: to ?? "",
  });
}
