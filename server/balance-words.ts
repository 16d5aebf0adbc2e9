import { sayMeasured } from "../vision/accounts/index.ts";
import type { RunBalance } from "../vision/contract/index.ts";
import { itemName, measured, type Speech, streamName, tell } from "../vision/telling/index.ts";

/** A balance in words and rows, as the command and reports show it. */

type Product = RunBalance["products"][number];
type Found = Product["share"];

export const figureHeads = ({ say }: Speech): string[] => [
  say("rep.figure"),
  say("run.balance.given"),
  say("run.balance.balanced"),
  "",
];

/** Masses, water and assays, given and balanced, ± one standard error. */
export function figureRows(speech: Speech, { lines, products }: RunBalance): string[][] {
  const { say, number } = speech;
  const metals = new Set(products.flatMap(({ metals }) => metals.map(({ metal }) => metal)));
  return lines
    .filter(({ item }) => item === "dry mass" || item === "water" || metals.has(item))
    .filter(({ given, balanced }) => given !== null || balanced !== null)
    .map(({ stream, item, unit, given, givenError, balanced, balancedError, off, misfit }) => [
      itemName(speech, { stream, item }),
      given === null ? say("rep.notMeasured") : measured(speech, given, givenError, unit),
      balanced === null ? say("rep.notKnown") : measured(speech, balanced, balancedError, unit),
      misfit
        ? say("run.balance.misfit")
        : given === null
          ? ""
          : off === null
            ? say("rep.unchecked")
            : say("rep.errorsOff", { off: number(Math.abs(off), 1) }),
    ]);
}

export const percentOf = (speech: Speech, found: Found): string =>
  found ? measured(speech, 100 * found.value, 100 * (found.error ?? 0), "%") : speech.say("rep.notKnown");

/** What leaves, metal by metal. */
export const productHeads = ({ say }: Speech): string[] => [
  say("run.balance.products"),
  say("run.balance.share"),
  say("rep.metal"),
  say("run.balance.grade"),
  say("run.balance.recovery"),
];
export const productRows = (speech: Speech, { products }: RunBalance): string[][] =>
  products.flatMap(({ stream, share, metals }) =>
    metals.map(({ metal, gradePercent, recovery }) => [
      streamName(speech, stream),
      percentOf(speech, share),
      metal,
      gradePercent ? measured(speech, gradePercent.value, gradePercent.error, "%") : speech.say("rep.notKnown"),
      percentOf(speech, recovery),
    ]),
  );

/** How far each was concentrated: rows of their own, since one table of all would be wider than a page. */
export const concentrationHeads = ({ say }: Speech): string[] => [
  say("run.balance.concentrated"),
  say("rep.metal"),
  say("run.balance.ratio"),
  say("run.balance.enrichment"),
  say("run.balance.separation"),
];
export const concentrationRows = (speech: Speech, { products }: RunBalance): string[][] =>
  products.flatMap(({ stream, ratio, metals }) =>
    metals.map(({ metal, enrichment, separation }) => [
      streamName(speech, stream),
      metal,
      ratio ? measured(speech, ratio.value, ratio.error, "") : speech.say("rep.notKnown"),
      enrichment ? measured(speech, enrichment.value, enrichment.error, "") : "",
      separation ? percentOf(speech, separation) : "",
    ]),
  );

/** The middling decision, its reasons, and what each way brings. */
export function middlingLines(speech: Speech, middling: NonNullable<RunBalance["middling"]>): string[] {
  const { choice, because, worth, caution, basis } = middling;
  const { say } = speech;
  const told = (["rerun", "regrind", "discard"] as const).flatMap((way) => {
    const found = worth?.[way];
    return found ? [say(`rep.worth.${way}`, { worth: whole(speech, found) })] : [];
  });
  return [
    say(`run.way.${choice}`),
    ...because.map((why) => tell(speech, why)),
    ...told,
    ...(caution ? [tell(speech, caution)] : []),
    say("rep.restsOn", { sources: basis.map(({ source, kind }) => `${source} (${kind})`).join("; ") }),
  ];
}
const whole = (speech: Speech, { value, error }: { value: number; error: number | null }) =>
  `${speech.number(Math.round(value))}\u00a0±\u00a0${speech.number(Math.max(1, Math.round(error ?? 0)))}`;

/** One product for the command, which speaks English. */
export function sayProduct({ stream, share, ratio, metals }: Product): string[] {
  const percent = (found: Found) =>
    found ? `${sayMeasured({ value: 100 * found.value, error: 100 * (found.error ?? 0) })} %` : "not known";
  const figure = ({ value, error }: NonNullable<Found>) => sayMeasured({ value, error: error ?? 0 });
  return [
    `${stream}: ${percent(share)} of the feed${ratio ? `; ${figure(ratio)} kg of feed for each kg` : ""}`,
    ...metals.map(({ metal, gradePercent, recovery, enrichment, separation }) => {
      const parts = [
        `${gradePercent ? figure(gradePercent) : "?"} % ${metal}`,
        `${percent(recovery)} of it recovered`,
        ...(enrichment ? [`${figure(enrichment)} times the feed's grade`] : []),
        ...(separation ? [`separation efficiency ${percent(separation)}`] : []),
      ];
      return `  ${parts.join("; ")}`;
    }),
  ];
}
