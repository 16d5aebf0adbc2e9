import { button, el, fill } from "../element.ts";
import type { KnownAtTable } from "../known-at-table.ts";
import { numberEntry } from "../number-entry.ts";
import { flowFromFloat, HAND_TIMING_SECONDS, roughnessFromFloat, wettedLengthFromFloat } from "../set-up-sums.ts";
import { sumLines } from "../sum-lines.ts";
import { measured } from "../units.ts";
import { number, say } from "../words.ts";

/** One standard error of what is typed here and not measured twice (judgement): slope, mm/m, and water's warmth, °C. */
const TYPED_SLOPE_ERROR = 1;
const TYPED_WARMTH_ERROR = 1;
/** More times than these say nothing more of a hand on a watch. */
const MOST_TIMES = 9;

/** A stopwatch for a float across the deck, and what its time says of the water. */
export function floatWatch(known: KnownAtTable, deck: { lengthMm: number; widthMm: number }, changed: () => void) {
  let begun: number | null = null;
  let times: readonly number[] = [];
  const press = button(say("setup.float.start"), () => toggle(), { class: "main-button" });
  const list = el("ol", { class: "float-times" });
  const told = el("p", { role: "status" });
  const toggle = () => {
    if (begun === null) begun = performance.now();
    else {
      times = [...times, (performance.now() - begun) / 1000].slice(-MOST_TIMES);
      begun = null;
    }
    press.textContent = say(begun === null ? "setup.float.start" : "setup.float.stop");
    told.textContent = begun === null ? "" : say("setup.float.runs");
    listTimes();
    update();
  };
  const drop = (index: number) => {
    times = times.filter((_, i) => i !== index);
    listTimes();
    update();
    press.focus();
  };
  const listTimes = () =>
    fill(
      list,
      ...times.map((value, i) => {
        const words = measured({ value, error: HAND_TIMING_SECONDS }, "s");
        const name = say("setup.float.drop", { time: words });
        return el(
          "li",
          {},
          words,
          " ",
          button("×", () => drop(i), { class: "quiet remove", "aria-label": name }),
        );
      }),
    );

  const way = numberEntry(
    "float-way",
    "mm",
    (unit) => say("setup.float.way", { unit }),
    [50, 3000],
    changed,
    deck.widthMm,
  );
  const wetted = numberEntry(
    "float-wetted",
    "mm",
    (unit) => say("setup.float.wetted", { unit }),
    [50, 6000],
    changed,
    deck.lengthMm,
  );
  const slope = numberEntry("float-slope", "mm/m", (unit) => say("setup.float.slope", { unit }), [0.5, 300], changed);
  const warmth = numberEntry("float-warmth", "°C", (unit) => say("setup.float.warmth", { unit }), [0, 60], changed, 15);
  const sum = sumLines();
  const update = () =>
    sum.show(() => {
      const [distanceMm, wettedLengthMm, temperature] = [way.value(), wetted.value(), warmth.value()];
      const typed = slope.value();
      const slopeMmPerM = typed === null ? known.crossSlope : { value: typed, error: TYPED_SLOPE_ERROR };
      if (times.length === 0 || distanceMm === null || wettedLengthMm === null || temperature === null || !slopeMmPerM)
        return null;
      const temperatureC = { value: temperature, error: TYPED_WARMTH_ERROR };
      const test = { seconds: times, distanceMm, wettedLengthMm, slopeMmPerM, temperatureC };
      const flow: [string, string] = [say("setup.float.flow"), measured(flowFromFloat(test), "L/min")];
      if (!known.water) return [flow];
      return [
        flow,
        [say("setup.float.rough"), measured(roughnessFromFloat(test, known.water), "")],
        [say("setup.float.carries"), measured(wettedLengthFromFloat(test, known.water), "mm")],
      ];
    }, say("setup.float.need"));
  const element = el(
    "div",
    {},
    el("p", {}, say("setup.float.how")),
    el("div", { class: "choices" }, press),
    told,
    list,
    ...[way, wetted, slope, warmth].map((entry) => entry.element),
    el(
      "p",
      { class: "hint-line" },
      say("setup.float.counted", { slope: number(TYPED_SLOPE_ERROR), warmth: number(TYPED_WARMTH_ERROR) }),
    ),
    sum.element,
    el("p", { class: "hint-line" }, say("setup.float.mind")),
  );
  return { element, update };
}
