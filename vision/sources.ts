import type { Hint } from "./contract/index.ts";
import { inEnglish, type SentenceKey, said } from "./said.ts";

export type Basis = Hint["basis"][number];

/** What a rule or step leans on, by its sentence's name. */
export function basis(key: SentenceKey, kind: Basis["kind"]): Basis {
  const text = said(key);
  return { source: inEnglish(text), kind, said: text[0]! };
}

/** What the rules lean on. A work cited from memory was not opened again when its rule was written. */
export const SOURCES = {
  minimumWater: basis("said.source.minimumWater", "published"),
  bandWidth: basis("said.source.bandWidth", "published"),
  overlap: basis("said.source.overlap", "published"),
  washWater: basis("said.source.washWater", "from memory"),
  slope: basis("said.source.slope", "from memory"),
  bandsHighOrLow: basis("said.source.bandsHighOrLow", "from memory"),
  riffleTaper: basis("said.source.riffleTaper", "from memory"),
  dryByPipe: basis("said.source.dryByPipe", "common practice"),
  edgeCounts: basis("said.source.edgeCounts", "common practice"),
  order: basis("said.source.order", "common practice"),
  leastWrongSide: basis("said.source.leastWrongSide", "computed"),
  setPoints: basis("said.source.setPoints", "computed"),
  twin: basis("said.source.twin", "computed"),
  aim: basis("said.source.aim", "computed"),
  endSlope: basis("said.source.endSlope", "from memory"),
  stroke: basis("said.source.stroke", "from memory"),
  filmBreaks: basis("said.source.filmBreaks", "computed"),
  feedSolids: basis("said.source.feedSolids", "published"),
  steadyFeed: basis("said.source.steadyFeed", "common practice"),
  drift: basis("said.source.drift", "common practice"),
  sanding: basis("said.source.sanding", "from memory"),
  evenFeed: basis("said.source.evenFeed", "common practice"),
  slimes: basis("said.source.slimes", "from memory"),
  raggedEdge: basis("said.source.raggedEdge", "from memory"),
  merging: basis("said.source.merging", "common practice"),
  lightChange: basis("said.source.lightChange", "common practice"),
  froth: basis("said.source.froth", "common practice"),
  washJets: basis("said.source.washJets", "common practice"),
  middlingInDense: basis("said.source.middlingInDense", "published"),
  roundGrains: basis("said.source.roundGrains", "common practice"),
  photo: basis("said.source.photo", "common practice"),
} as const satisfies Record<string, Basis>;
