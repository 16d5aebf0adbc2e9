import { CLASS_NAMES, type DeckState, type QualityIssue, type Reading } from "./contract/index.ts";
import type { PhotoError } from "./errors.ts";
import { insideOutline } from "./rectify.ts";
import { asMm, asShare, issueOf, said } from "./said.ts";
import type { Classes, Deck, EvenDeck, Outlet, Photo, View } from "./stages.ts";

export const VERSION = "0.1.0";
const NO_MODEL = "none: colours of the photo itself";

/** More of the deck burnt out than this is worth saying. */
const GLARE_SHARE = 0.02;
/** Below this many photo pixels a mm, thin bands and edges blur. */
const COARSE_PX_PER_MM = 0.4;
/** A larger standard error of place than this is worth saying, mm. */
const POOR_PLACE_MM = 15;

/** Where a photo came from. `takenAt`: ISO 8601, null when the photo does not say. */
export interface Source {
  readonly name: string;
  readonly sha256: string;
  readonly takenAt: string | null;
}

export interface Findings {
  readonly source: Source;
  /** Name of the learned model that took the first look, where one did. */
  readonly model?: string;
  readonly photo: Pick<Photo, "width" | "height">;
  readonly deck: Deck;
  readonly view: View;
  readonly even: Pick<EvenDeck, "glareShare">;
  readonly classes: Pick<Classes, "grid" | "labels">;
  /** Photo pixels per mm at the deck's centre. */
  readonly pxPerMm: number;
  readonly outlet: Pick<Outlet, "unseenMm">;
  readonly bands: Reading["bands"];
  readonly dryPatches: Reading["dryPatches"];
  readonly rills: Reading["rills"];
  readonly splitters: Reading["splitters"];
  readonly launders: Reading["launders"];
  /** What the view and the photo's own fitness had to say; said first. */
  readonly issues?: readonly QualityIssue[];
  readonly deckState?: DeckState;
}

/** Everything found in one photo, rounded as the contract says: lengths to 0.1 mm, shares to 0.0001. No advice yet. */
export function makeReading(findings: Findings): Reading {
  const { source, photo, deck, view, classes } = findings;
  return {
    ...blank(source, photo),
    madeBy: { version: VERSION, model: findings.model ?? NO_MODEL },
    scale: deck.scale,
    deckState: findings.deckState ?? "unknown",
    quality: { usable: true, issues: together(findings.issues ?? [], issuesOf(findings)) },
    view: {
      source: view.source,
      // Full precision: rounding a homography would move the deck.
      photoToDeck: [...view.photoToDeck],
      lens: view.lens,
      errorMm: mm(view.errorMm),
      orientationConfidence: share(view.orientationConfidence),
      cornersPx: view.cornersPx.map(({ x, y }): [number, number] => [mm(x), mm(y)]),
    },
    grid: { ...classes.grid },
    cover: coverOf(classes, deck),
    bands: findings.bands.map((band) => ({
      ...band,
      areaMm2: mm(band.areaMm2),
      meanWidthMm: mm(band.meanWidthMm),
      outlet: band.outlet.map((span) => ({
        fromMm: mm(span.fromMm),
        toMm: mm(span.toMm),
        fromErrorMm: mmOrNull(span.fromErrorMm),
        toErrorMm: mmOrNull(span.toErrorMm),
      })),
      centreLine: band.centreLine.map(pair),
      edgeBlurMm: mmOrNull(band.edgeBlurMm),
      confidence: share(band.confidence),
    })),
    outletUnseenMm: findings.outlet.unseenMm.map(pair),
    dryPatches: findings.dryPatches.map(({ areaMm2, centre, outline, confidence }) => ({
      areaMm2: mm(areaMm2),
      centre: pair(centre),
      outline: outline.map(pair),
      confidence: share(confidence),
    })),
    rills: findings.rills.map(({ path, widthMm, confidence }) => ({
      path: path.map(pair),
      widthMm: mm(widthMm),
      confidence: share(confidence),
    })),
    splitters: findings.splitters.map(({ name, atMm, suggestedMm, errorMm }) => ({
      name,
      atMm: mm(atMm),
      suggestedMm: mmOrNull(suggestedMm),
      errorMm: mmOrNull(errorMm),
    })),
    launders: findings.launders.map(({ name, product, fromMm, toMm, carried }) => ({
      name,
      product,
      fromMm: mm(fromMm),
      toMm: mm(toMm),
      // Down, so that the shares of one class never sum to more than 1.
      carried: {
        dense: shareDown(carried.dense),
        middling: shareDown(carried.middling),
        light: shareDown(carried.light),
      },
    })),
  };
}

/** The photo opened but no deck can be read from it. `issues` say why in a worker's words. */
export function unusable(
  source: Source,
  size: Pick<Photo, "width" | "height"> | null,
  issues: readonly QualityIssue[],
): Reading {
  return { ...blank(source, size), quality: { usable: false, issues: [...issues] } };
}

/** The file could not be opened as a photo. */
export function unreadable(source: { readonly name: string; readonly sha256: string }, why: PhotoError): Reading {
  return unusable({ ...source, takenAt: null }, null, [
    why.said ? issueOf(why.code, why.said) : { kind: why.code, say: why.message },
  ]);
}

function blank({ name, sha256, takenAt }: Source, size: Pick<Photo, "width" | "height"> | null): Reading {
  return {
    schemaVersion: 1,
    photo: { name, sha256, widthPx: size?.width ?? null, heightPx: size?.height ?? null, takenAt },
    madeBy: { version: VERSION, model: NO_MODEL },
    scale: "assumed",
    deckState: "unknown",
    quality: { usable: false, issues: [] },
    view: null,
    grid: null,
    cover: null,
    bands: [],
    outletUnseenMm: [],
    dryPatches: [],
    rills: [],
    splitters: [],
    launders: [],
    advice: [],
  };
}

/** Each kind is said once. */
const together = (first: readonly QualityIssue[], then: readonly QualityIssue[]): QualityIssue[] => [
  ...first,
  ...then.filter(({ kind }) => !first.some((issue) => issue.kind === kind)),
];

function issuesOf({ even, pxPerMm, view, deck }: Findings): QualityIssue[] {
  const issues: QualityIssue[] = [];
  if (even.glareShare > GLARE_SHARE) {
    issues.push(issueOf("glare", said("said.photo.glare", { share: asShare(even.glareShare) }), even.glareShare));
  }
  if (pxPerMm < COARSE_PX_PER_MM) {
    issues.push(issueOf("coarse", said("said.photo.small")));
  }
  if (view.errorMm > POOR_PLACE_MM) {
    const far =
      deck.scale === "deck file"
        ? said("said.photo.place", { far: asMm(Math.round(view.errorMm)) })
        : said("said.photo.placeShare", { far: asShare(view.errorMm / deck.lengthMm) });
    issues.push(issueOf("place", far));
  }
  return issues;
}

/** Share of each class among the cells inside the outline; the last digits go to the largest, so that they sum to 1. */
function coverOf({ grid, labels }: Pick<Classes, "grid" | "labels">, deck: Deck): NonNullable<Reading["cover"]> {
  const counts = new Array<number>(CLASS_NAMES.length).fill(0);
  const within = insideOutline(deck, grid);
  for (let cell = 0; cell < within.length; cell++) if (within[cell]) counts[labels[cell]!]!++;
  const total = counts.reduce((sum, n) => sum + n, 0);
  const tenThousandths = counts.map((n) => (total > 0 ? Math.round((n / total) * 10_000) : 0));
  const largest = counts.indexOf(Math.max(...counts));
  tenThousandths[largest]! += 10_000 - tenThousandths.reduce((sum, n) => sum + n, 0);
  const [unseen, bare, dense, middling, light, dry] = tenThousandths.map((n) => n / 10_000) as [
    number,
    number,
    number,
    number,
    number,
    number,
  ];
  return { unseen, bare, dense, middling, light, dry };
}

const mm = (length: number) => Math.round(length * 10) / 10;
const mmOrNull = (length: number | null) => (length === null ? null : mm(length));
const share = (value: number) => Math.round(value * 10_000) / 10_000;
const shareDown = (value: number) => Math.floor(value * 10_000 + 1e-6) / 10_000;
const pair = ([a, b]: readonly [number, number]): [number, number] => [mm(a), mm(b)];
