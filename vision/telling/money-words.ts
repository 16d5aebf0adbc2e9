import type { RunSplitters } from "../contract/index.ts";
import { measured, type Speech } from "./speech.ts";

export interface MoneyLines {
  /** Where each splitter belongs. */
  readonly places: readonly string[];
  /** What that brings, and how sure it is. */
  readonly worth: readonly string[];
  /** What to do with the middling, and what the dense product is paid with. */
  readonly also: readonly string[];
  readonly rests: string;
  readonly cautions: readonly string[];
  readonly heads: readonly string[];
  readonly rows: readonly (readonly string[])[];
  /** To be said before anybody moves anything; null where nothing is to be moved. */
  readonly careful: string | null;
}

/** What a run's splitters bring, in words and rows; one sentence where nothing can be said. */
export function moneyLines(speech: Speech, found: RunSplitters): MoneyLines | string {
  const { refusal, splitters, launders, gain, middling, denseTonne, restsOn, cautions, metal } = found;
  const { say, number } = speech;
  if (refusal !== null || !gain) return say(`run.money.refusal.${refusal ?? "no-balance"}`);
  const moved = ({ bestMm, nowMm }: RunSplitters["splitters"][number]) => Math.abs(bestMm - nowMm) >= 1;
  const moves = splitters.some(moved);
  const mm = (value: number) => number(value, 0, 1);
  const money = ({ value, from, to }: { value: number; from: number; to: number }) => ({
    value: amount(speech, value),
    from: amount(speech, from),
    to: amount(speech, to),
  });
  const chance = `${number(100 * gain.chance)}\u00a0%`;
  const both = (now: number, best: number) =>
    `${measured(speech, now, null, "")} → ${measured(speech, best, null, "%")}`;
  return {
    places: splitters.map((one) => {
      const { name, nowMm, bestMm, fromMm, toMm, movable } = one;
      const values = { name, now: mm(nowMm), best: mm(bestMm), from: mm(fromMm), to: mm(toMm) };
      return say(movable ? (moved(one) ? "run.money.move" : "run.money.leave") : "run.money.fixed", values);
    }),
    worth: moves
      ? [
          ...(gain.perDay ? [say("run.money.gainDay", money(gain.perDay))] : []),
          say("run.money.gainTonne", money(gain.perTonneFeed)),
          say(gain.sure ? "run.money.sure" : "run.money.unsure", { chance }),
        ]
      : [say("run.money.stay")],
    also: [
      ...(middling ? [say(`run.way.${middling.now}`)] : []),
      ...(middling && middling.best !== middling.now
        ? [say("run.money.wayThen", { way: say(`run.way.${middling.best}`) })]
        : []),
      ...(denseTonne
        ? [
            say("run.money.denseTonne", {
              now: amount(speech, denseTonne.now),
              best: amount(speech, denseTonne.best),
            }),
          ]
        : []),
    ],
    rests: say("run.money.rests", { ...restsOn }),
    cautions: cautions.map((caution) => say(`run.money.caution.${caution}`)),
    heads: [
      say("run.expected.launder"),
      say("run.balance.share"),
      `${say("run.balance.grade")}, ${metal}`,
      `${say("run.balance.recovery")}, ${metal}`,
    ],
    rows: launders.map(({ launder, product, now, best }) => [
      `${launder} (${say(`class.${product}`)})`,
      both(now.feedPercent, best.feedPercent),
      both(now.gradePercent, best.gradePercent),
      both(now.recoveryPercent, best.recoveryPercent),
    ]),
    careful: moves ? say("run.money.careful") : null,
  };
}

/** Money to three digits. */
function amount({ number }: Speech, value: number): string {
  const size = Math.max(1, Math.abs(value));
  return number(value, 0, Math.max(0, 2 - Math.floor(Math.log10(size))));
}
