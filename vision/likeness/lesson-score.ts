import type { LessonChange, LessonScore, MarkedEdge, NewLessonTry, Product, Reference } from "../contract/index.ts";
import { median } from "../mark-up/agreement.ts";
import { faultChanges } from "./faults.ts";

/** Shares of the outlet's length: an edge so near has all its points, one so far has none. */
const ALL_POINTS = 0.005;
const NO_POINTS = 0.05;

/** Where each band of a reference begins first and ends last, mm; an end of the outlet path is no edge. */
export function mainEdges({ look, deck }: Pick<Reference, "look" | "deck">): MarkedEdge[] {
  return (["dense", "middling", "light"] as const).flatMap((kind) => {
    const band = look.bands[kind];
    if (!band) return [];
    const at = (share: number) => Math.round(10 * share * deck.outletMm) / 10;
    return [
      ...(band.from > 0.002 ? [{ kind, edge: "from" as const, atMm: at(band.from) }] : []),
      ...(band.to < 0.998 ? [{ kind, edge: "to" as const, atMm: at(band.to) }] : []),
    ];
  });
}

/** Where bands that follow each other divide: the middle between the end of the one and the beginning of the other, mm. */
export function dividesOf({ look, deck }: Pick<Reference, "look" | "deck">) {
  const there = (["dense", "middling", "light"] as const).filter((kind) => look.bands[kind] !== null);
  return there.slice(1).flatMap((lower, i) => {
    const upper = there[i]!;
    const share = (look.bands[upper]!.to + look.bands[lower]!.from) / 2;
    return [{ between: [upper, lower] as [Product, Product], atMm: Math.round(10 * share * deck.outletMm) / 10 }];
  });
}

type SaidOfDeck = Pick<NewLessonTry, "fault" | "edges"> & Partial<Pick<NewLessonTry, "splitters" | "change">>;

/**
 * What a person said of a reference against its truth: the mean over fault, edges, and, where they were said, splitters and change.
 * Points of a place fall evenly from a half to five per cent of the outlet. An edge of a band that is not there takes one
 * edge's points away.
 */
export function scoreTry(reference: Pick<Reference, "look" | "deck" | "fault">, said: SaidOfDeck): LessonScore {
  const pointsOf = (saidMm: number | null, atMm: number) => {
    const offMm = saidMm === null ? null : Math.abs(saidMm - atMm);
    const share = offMm === null ? 1 : offMm / reference.deck.outletMm;
    return { saidMm, offMm, points: Math.min(1, Math.max(0, (NO_POINTS - share) / (NO_POINTS - ALL_POINTS))) };
  };
  const edges = mainEdges(reference).map((edge) => {
    const own = said.edges.find((one) => one.kind === edge.kind && one.edge === edge.edge);
    return { ...edge, ...pointsOf(own?.atMm ?? null, edge.atMm) };
  });
  const extra = said.edges.filter(({ kind }) => !reference.look.bands[kind]);
  const own = said.splitters ?? [];
  const splitters =
    own.length === 0
      ? []
      : dividesOf(reference).map(({ between, atMm }) => {
          const set = own.find((one) => one.between[0] === between[0] && one.between[1] === between[1]);
          return { between, atMm, ...pointsOf(set?.atMm ?? null, atMm) };
        });
  const could = faultChanges(reference.fault);
  const told = said.change ?? null;
  const isTold = ({ control, direction }: LessonChange) => control === told?.control && direction === told.direction;
  const change = told && { right: could.some(isTold), could };
  const faultRight = said.fault === reference.fault;
  const mean = (points: readonly { readonly points: number }[], less: number) =>
    points.length === 0 ? [] : [Math.max(0, points.reduce((sum, one) => sum + one.points, 0) - less) / points.length];
  const parts = [
    Number(faultRight),
    ...mean(edges, extra.length),
    ...mean(splitters, 0),
    ...(change ? [Number(change.right)] : []),
  ];
  return {
    faultRight,
    fault: reference.fault,
    edges,
    extra,
    splitters,
    change,
    medianMm: median(edges.flatMap(({ offMm }) => (offMm === null ? [] : [offMm]))),
    score: parts.reduce((sum, part) => sum + part, 0) / parts.length,
  };
}
