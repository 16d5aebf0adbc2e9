import { button } from "../element.ts";
import { COVERS, coverOf, type Look, PRODUCTS, spanOf } from "../history.ts";
import { outletUnits } from "../reading-words.ts";
import { wideTable } from "../table.ts";
import { number, percent, say, when } from "../words.ts";

/** The same as the plots, in numbers; a photo that is on this device opens from here. */
export function historyTable(
  looks: readonly Look[],
  changes: readonly (readonly string[])[],
  open: (id: string) => void,
): HTMLElement {
  const { unit } = outletUnits(looks[0]!.reading);
  const heads = [
    say("history.photo"),
    ...PRODUCTS.map((kind) => say("history.span", { name: say(`class.${kind}`), unit })),
    ...COVERS.map((kind) => say("history.share", { name: say(`class.${kind}`) })),
    say("history.changes"),
  ];
  const rows = looks.map((look, i) => {
    const words = `${number(i + 1)} · ${when(new Date(look.at))}`;
    const cells = [
      ...PRODUCTS.map((kind) => spanWords(look, kind)),
      ...COVERS.map((kind) => shareWords(look, kind)),
      changes[i]!.join("; "),
    ];
    return [look.isHere ? button(words, () => open(look.id), { class: "quiet" }) : words, ...cells];
  });
  return wideTable(say("history.table"), heads, rows);
}

function spanWords({ reading }: Look, kind: (typeof PRODUCTS)[number]): string {
  const span = spanOf(reading, kind);
  if (!span) return "–";
  const units = outletUnits(reading);
  const [from, to] = [span.fromErrorMm, span.toErrorMm].map((error) => units.error(error));
  return `${units.number(span.fromMm)}${from} – ${units.number(span.toMm)}${to}`;
}
function shareWords({ reading }: Look, kind: (typeof COVERS)[number]): string {
  const share = coverOf(reading, kind);
  return share === null ? "–" : percent(share);
}
