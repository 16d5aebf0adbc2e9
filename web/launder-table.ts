import { Product } from "../vision/contract/index.ts";
import { el, fill } from "./element.ts";
import type { LaunderContent } from "./flat-deck.ts";
import type { outletUnits } from "./reading-words.ts";
import { table, tableRow } from "./table.ts";
import { number, say } from "./words.ts";

/** In whole per cent: errors are of that size or larger. */
const whole = (share: number) => `${number(100 * share)}\u00a0%`;

/** What each launder carries of each band, with errors, and beside it what it carries now. */
export function launderTable(units: ReturnType<typeof outletUnits>) {
  const rows = el("tbody");
  const heads = [say("numbers.launder"), ...Product.options.map((p) => say(`taps.${p}`))];
  const element = table(say("flat.title"), heads, [], rows);
  const row = (launder: LaunderContent, now: LaunderContent | undefined) => {
    const { name, product, fromMm, toMm } = launder;
    const [from, to] = [units.number(fromMm), units.number(toMm)];
    const place = say("numbers.launderPlace", { name, product: say(`class.${product}`), from, to, unit: units.unit });
    const cells = Product.options.map((p) => {
      const { share, error } = launder.carried[p];
      const was = now?.carried[p].share;
      const isOther = was !== undefined && whole(was) !== whole(share);
      return el(
        "span",
        {},
        whole(share) + (error > 0 ? ` ±\u00a0${number(Math.max(1, 100 * error))}` : ""),
        isOther && el("small", {}, say("flat.was", { share: whole(was) })),
      );
    });
    return tableRow([place, ...cells]);
  };
  /** @param now  What they carry as splitters stand, where that is another thing. */
  const update = (carried: readonly LaunderContent[], now: readonly LaunderContent[] | null) =>
    fill(rows, ...carried.map((launder, i) => row(launder, now?.[i])));
  return { element, update };
}
