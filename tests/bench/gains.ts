/**
 * Does the twin tell what a change gains? `npm run bench:gains [-- --from 1 --starts 80]`: on starts of the test plant, each as one photo shows it,
 * water and slope are changed by some shares, splitters following; gains as the twin foretells them beside those of the plant.
 * Then splitters are set where the twin has them best: what that earns of what the best places do.
 */
import { parseArgs } from "node:util";
import { expectedCurves, gainFrom } from "../../vision/advice/best-change.ts";
import { twinOf } from "../../vision/advice/twin-case.ts";
import { worthOf } from "../../vision/advice/worth.ts";
import { randomFrom } from "../../vision/scene/random.ts";
import { bestCutsOf, moneyOf, run } from "./advice-plant.ts";
import { deckOf, drawStart, knowledge, limited, look, reachOf, settingsFile } from "./advice-start.ts";

const { values } = parseArgs({
  options: { from: { type: "string", default: "1" }, starts: { type: "string", default: "80" } },
});
const FIRST = Number(values.from);
const LEVERS = { wash: "washWaterLitresPerMinute", slope: "crossSlopeMmPerM" } as const;
const SHARES = [0.7, 0.85, 1.15, 1.4];

const gains: { lever: keyof typeof LEVERS; by: number; told: number; real: number }[] = [];
const earned: number[] = [];
for (let seed = FIRST; seed < FIRST + Number(values.starts); seed++) {
  const { plant, settings, best } = drawStart(randomFrom(seed));
  const draw = randomFrom(1e6 + seed);
  const { profile, aim, ...known } = knowledge(plant, draw);
  const file = settingsFile(plant, settings, { profile, aim, ...known });
  const seen = {
    reading: look(plant, settings, draw),
    deck: deckOf(plant, settings),
    notes: { profile, aim, settings: file },
  };
  const twin = twinOf(seen);
  if (!twin) continue;
  const money = (change: object) => bestCutsOf(plant, run(plant, { ...settings, ...change })).money / best.money;
  for (const lever of ["wash", "slope"] as const) {
    for (const by of SHARES) {
      const real = money({ [lever]: limited(by * settings[lever], reachOf(plant)[lever]) }) - money({});
      const told = gainFrom(seen, twin, { [LEVERS[lever]]: by * file[LEVERS[lever]]! });
      gains.push({ lever, by, told, real });
    }
  }
  const { dense, middling, light } = twin.feed;
  const worth = worthOf(seen.deck, aim, { dense: dense.share, middling: middling.share, light: light.share });
  const cuts = worth?.cuts(expectedCurves(twin, twin.settings, 10));
  const products = run(plant, settings);
  if (cuts) {
    earned.push(moneyOf(plant, products, { upper: cuts[0]!, lower: cuts[1]! }) / bestCutsOf(plant, products).money);
  }
}

const mean = (all: readonly number[]) => all.reduce((a, b) => a + b, 0) / all.length;
for (const lever of ["wash", "slope"] as const) {
  for (const by of SHARES) {
    const own = gains.filter((one) => one.lever === lever && one.by === by);
    const [told, real] = [mean(own.map((one) => one.told)), mean(own.map((one) => one.real))];
    const sum = (of: (one: (typeof own)[number]) => number) => own.reduce((all, one) => all + of(one), 0);
    const both = sum((one) => (one.told - told) * (one.real - real));
    const correlation = both / Math.sqrt(sum((one) => (one.told - told) ** 2) * sum((one) => (one.real - real) ** 2));
    console.log(
      `${lever} × ${by}: correlation ${correlation.toFixed(2)}, mean told ${told.toFixed(3)}, true ${real.toFixed(3)}`,
    );
  }
}
const say = (what: string, some: typeof gains) =>
  console.log(
    `${what}: ${some.length}, mean told ${mean(some.map(({ told }) => told)).toFixed(3)}, true ${mean(some.map(({ real }) => real)).toFixed(3)}, losses in truth ${some.filter(({ real }) => real < -0.005).length}`,
  );
say(
  "told over 0.02",
  gains.filter(({ told }) => told > 0.02),
);
say(
  "true over 0.02, more of it",
  gains.filter(({ real, by }) => real > 0.02 && by > 1),
);
say(
  "true over 0.02, less of it",
  gains.filter(({ real, by }) => real > 0.02 && by < 1),
);
const near = earned.filter((share) => share >= 0.95).length;
console.log(`splitters where the twin has them: 95 % of the best places' money on ${near} of ${earned.length}`);
