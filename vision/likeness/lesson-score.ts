import type { DeckFault, LessonScore, MarkedEdge, Reference } from "../contract/index.ts";
import { median } from "../mark-up/agreement.ts";

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

/**
 * What a person said of a reference against its truth: half the score is the fault, half the edges, whose points fall
 * evenly from a half to five per cent of the outlet. An edge of a band that is not there takes one edge's points away.
 */
export function scoreTry(
  reference: Pick<Reference, "look" | "deck" | "fault">,
  said: { readonly fault: DeckFault; readonly edges: readonly MarkedEdge[] },
): LessonScore {
  const truth = mainEdges(reference);
  const faultRight = said.fault === reference.fault;
  const edges = truth.map((edge) => {
    const own = said.edges.find((one) => one.kind === edge.kind && one.edge === edge.edge);
    const offMm = own ? Math.abs(own.atMm - edge.atMm) : null;
    const share = offMm === null ? 1 : offMm / reference.deck.outletMm;
    const points = Math.min(1, Math.max(0, (NO_POINTS - share) / (NO_POINTS - ALL_POINTS)));
    return { ...edge, saidMm: own?.atMm ?? null, offMm, points };
  });
  const extra = said.edges.filter(({ kind }) => !reference.look.bands[kind]);
  const off = edges.flatMap(({ offMm }) => (offMm === null ? [] : [offMm]));
  const points = edges.reduce((sum, edge) => sum + edge.points, 0);
  const ofEdges = truth.length > 0 ? Math.max(0, points - extra.length) / truth.length : null;
  const ofFault = faultRight ? 1 : 0;
  return {
    faultRight,
    fault: reference.fault,
    edges,
    extra,
    medianMm: median(off),
    score: ofEdges === null ? ofFault : (ofFault + ofEdges) / 2,
  };
}
