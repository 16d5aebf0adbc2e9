import type { DeckFileInput } from "../vision/contract/index.ts";
import { button, el, folded, plainFolded } from "./element.ts";
import type { KnownAtTable } from "./known-at-table.ts";
import { floatWatch } from "./parts/float-watch.ts";
import { setupWalk } from "./parts/setup-walk.ts";
import { slopeHelper } from "./parts/slope-helper.ts";
import { waterSums } from "./parts/water-sums.ts";
import { describeDeck, setupFor } from "./set-up-sums.ts";
import { say } from "./words.ts";

/**
 * The set-up at the table: guide, slopes and shims, float, water. Loaded when it is first opened.
 *
 * @param file  The deck, as far as it is known.
 */
export function setUpScreen(file: DeckFileInput | null, close: () => void): HTMLElement {
  const deck = describeDeck(file);
  const known: KnownAtTable = { crossSlope: null, endSlope: null, water: null };
  const update = () => {
    for (const part of parts) part.update();
  };
  /** What one part measured is taken up by the others. */
  const measuredAnew = () => {
    for (const part of [float, slopes]) part.update();
  };
  const guide = setupWalk(deck);
  const slopes = slopeHelper(known, wantedOf(deck), () => float.update());
  const float = floatWatch(known, deck, () => float.update());
  const water = waterSums(known, measuredAnew);
  const parts = [guide, water, slopes, float];

  const others = (["electric", "lever", "water", "local"] as const).map((name) => el("li", {}, say(`safety.${name}`)));
  const element = el(
    "div",
    { class: "step photo-step set-up" },
    el(
      "section",
      { class: "card caution-card" },
      el("h1", { tabindex: -1 }, say("setup.title")),
      el("p", {}, say("safety.drive")),
      plainFolded(say("safety.summary"), el("ul", {}, ...others)),
    ),
    folded(say("setup.guide"), { class: "card", open: true }, guide.element),
    folded(say("setup.slopes"), { class: "card" }, slopes.element),
    folded(say("setup.float"), { class: "card" }, float.element),
    folded(say("setup.water"), { class: "card" }, water.element),
    el("div", { class: "choices" }, button(say("setup.close"), close, { class: "quiet" })),
  );
  update();
  return element;
}

/** The deck's own set points, else the guide's first slopes: the middle of what is right there. */
function wantedOf(deck: ReturnType<typeof describeDeck>) {
  const checks = setupFor(deck).flatMap((step) => step.checks);
  const middle = (name: string) => {
    const { least, most } = checks.find((check) => check.name === name)!;
    return (least! + most!) / 2;
  };
  return { crossMmPerM: middle("cross slope"), endMmPerM: middle("end slope") };
}
