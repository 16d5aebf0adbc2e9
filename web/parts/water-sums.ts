import { button, el } from "../element.ts";
import type { KnownAtTable } from "../known-at-table.ts";
import { numberEntry } from "../number-entry.ts";
import { flowFromCan, meanOf, waterBudget } from "../set-up-sums.ts";
import { sumLines } from "../sum-lines.ts";
import { exact, measured } from "../units.ts";
import { number, say } from "../words.ts";

/** Water from a timed can, and where the table's water comes from and goes. */
export function waterSums(known: KnownAtTable, changed: () => void) {
  const all = () => {
    update();
    changed();
  };
  const litres = numberEntry("can-litres", "L", (unit) => say("setup.can.litres", { unit }), [0.1, 1000], all);
  const seconds = [1, 2, 3].map((i) =>
    numberEntry(`can-seconds-${i}`, "s", () => say("setup.can.seconds", { number: number(i) }), [0.5, 3600], all),
  );
  const canSum = sumLines();
  const water = () => {
    const filled = litres.value();
    const times = seconds.map((entry) => entry.value()).filter((time) => time !== null);
    if (filled === null || times.length === 0) return null;
    return meanOf(
      "L/min",
      times.map((time) => flowFromCan(filled, time)),
    );
  };
  const toWash = button(
    say("setup.can.asWash"),
    () => {
      const found = water();
      if (found) wash.put(found.value);
    },
    { class: "quiet" },
  );

  const solids = numberEntry("solids-kg", "kg/h", (unit) => say("setup.water.solids", { unit }), [0.1, 100_000], all);
  const percent = numberEntry("feed-percent", "%", () => say("setup.water.percent"), [1, 80], all, 25);
  const density = numberEntry("solids-density", "", () => say("setup.water.density"), [1000, 20_000], all, 2700);
  const wash = numberEntry("wash", "L/min", (unit) => say("setup.water.wash", { unit }), [0, 10_000], all);
  const hours = numberEntry("hours", "", () => say("setup.water.hours"), [0, 24], all, 8);
  const budget = sumLines();
  function update() {
    canSum.show(() => {
      const found = water();
      // one can alone has no spread: its error is not known, and nothing is built on it
      known.water = found && Number.isFinite(found.error) ? found : null;
      return found && [[say("setup.can.flow"), measured(found, "L/min")]];
    }, say("setup.can.need"));
    budget.show(() => {
      const [kg, feed, kgPerM3] = [solids.value(), percent.value(), density.value()];
      const [washing, hoursPerDay] = [wash.value(), hours.value()];
      if (kg === null || feed === null || kgPerM3 === null || washing === null || hoursPerDay === null) return null;
      const found = waterBudget({
        solidsKgPerHour: kg,
        feedSolidsPercent: feed,
        solidsKgPerM3: kgPerM3,
        washLitresPerMinute: washing,
        hoursPerDay,
      });
      return [
        [say("setup.water.total"), exact(found.totalLitresPerMinute, "L/min")],
        [say("setup.water.withFeed"), exact(found.feedWaterLitresPerMinute, "L/min")],
        [say("setup.water.pulp"), exact(found.feedPulpLitresPerMinute, "L/min")],
        [say("setup.water.perSolids"), exact(found.waterPerSolids, "")],
        [say("setup.water.out"), exact(found.outSolidsPercent, "%")],
        [say("setup.water.day"), exact(found.cubicMetresPerDay, "m³")],
      ];
    }, say("setup.water.need"));
  }
  const element = el(
    "div",
    {},
    el("h3", {}, say("setup.can.title")),
    el("p", {}, say("setup.can.how")),
    litres.element,
    ...seconds.map((entry) => entry.element),
    canSum.element,
    el("div", { class: "choices" }, toWash),
    el("h3", {}, say("setup.water.budget")),
    ...[solids, percent, density, wash, hours].map((entry) => entry.element),
    budget.element,
    el("p", { class: "hint-line" }, say("setup.water.mind")),
  );
  return { element, update };
}
