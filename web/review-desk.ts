import { type MarkedEdge, type MarkUp, NewReading, type Reading } from "../vision/contract/index.ts";
import { ask, classesOf, previewUrl, readingUrl } from "./api.ts";
import { toBase64 } from "./base64.ts";
import { cellsOf, classesPng } from "./desk-classes.ts";
import { cellsInside, type DeskMarks, deskDraft } from "./desk-draft.ts";
import { forgetDesk, keepDesk, keptDesk } from "./desk-kept.ts";
import { layFlat } from "./desk-photo.ts";
import { describeDeck } from "./desk-sums.ts";
import { el, fill } from "./element.ts";
import { flatDesk } from "./parts/flat-desk.ts";
import { outletUnits } from "./reading-words.ts";
import { markUpsOf, peopleNames, sendMarkUp } from "./review-api.ts";
import { whyNot } from "./review-words.ts";
import { number, say, when } from "./words.ts";

/** A reviewer's desk for one reading: what is corrected becomes a mark-up beside it. Loaded when it is first opened. */

/** A splitter that should stand elsewhere, as an answer says it. */
export interface SplitterSet {
  readonly name: string;
  readonly fromMm: number;
  readonly toMm: number;
}
export interface DeskHeard {
  readonly splitters: (set: readonly SplitterSet[]) => void;
  readonly saved: () => void;
}
export interface ReviewDesk {
  readonly element: HTMLElement;
  /** Go on from somebody's mark-up: one step, to be undone. @throws {Trouble} */
  readonly beginFrom: (markUp: MarkUp) => Promise<void>;
}
/** Cells of a dry patch. */
const DRY = 5;
/** Steps come quickly; they are kept once it is quiet for this long, ms. */
const KEEP_MS = 400;

/** @throws {Trouble} */
export async function reviewDesk(id: string, reading: Reading, heard: DeskHeard): Promise<ReviewDesk> {
  const opened = new Date().toISOString();
  const grid = reading.grid!;
  const [asked, png] = await Promise.all([
    ask(NewReading, `${readingUrl(id)}/asked`, {}),
    classesOf(readingUrl(id, "/classes.png"), new AbortController().signal),
  ]);
  const read = cellsOf(png, grid) ?? new Uint8Array(grid.columns * grid.rows);
  const size = { lengthMm: grid.columns * grid.mmPerCell, widthMm: grid.rows * grid.mmPerCell };
  const deck = describeDeck(asked.deck ?? { schemaVersion: 1, ...size });
  const outletPath = deck.outletPath.map(({ x, y }) => [x, y] as const);
  const outletMm = outletPath
    .slice(1)
    .reduce((sum, [x, y], i) => sum + Math.hypot(x - outletPath[i]![0], y - outletPath[i]![1]), 0);
  const standMm = deck.splitters.map(({ atMm }) => atMm);
  const first: DeskMarks = { edges: edgesRead(reading), patches: [], splittersMm: standMm };
  const onDeck = cellsInside(
    grid,
    deck.outline.map(({ x, y }) => [x, y] as const),
  );

  const element = el("div", {});
  const news = el("p", { role: "status", class: "hint-line" });
  const kept = keptDesk(id, grid);
  const draft = deskDraft(grid, read, onDeck, kept ?? { marks: first, cells: read });
  let keeping: ReturnType<typeof setTimeout> | undefined;
  if (kept) news.textContent = say("desk.restored");

  const isTouched = () => draft.marks() !== first || draft.isPainted();
  function lay() {
    fill(
      element,
      news,
      flatDesk({
        draft,
        deck: {
          lengthMm: deck.lengthMm,
          widthMm: deck.widthMm,
          outletPath,
          mirrored: deck.file.hand === "left",
          splitters: deck.splitters.map((one) => ({
            ...one,
            minMm: one.minMm ?? 0,
            maxMm: one.maxMm ?? outletMm,
            stepMm: one.stepMm ?? 5,
          })),
        },
        outletMm,
        units: outletUnits(reading),
        photo: (isSharp) => flatPhoto(reading, deck.lengthMm, deck.widthMm, isSharp),
        stepped: () => {
          clearTimeout(keeping);
          keeping = setTimeout(() => isTouched() && keepDesk(id, draft), KEEP_MS);
        },
        splitters: (places) =>
          heard.splitters(
            deck.splitters.flatMap(({ name }, i) =>
              places[i] === standMm[i] ? [] : [{ name, fromMm: standMm[i]!, toMm: places[i]! }],
            ),
          ),
        save,
        asRead: () => {
          draft.setAll(first, read);
          news.textContent = "";
          lay();
        },
      }),
    );
  }
  async function save(note: string | null): Promise<string> {
    const { edges, patches } = draft.marks();
    const isPainted = draft.isPainted() || patches.length > 0;
    const isMoved = JSON.stringify(edges) !== JSON.stringify(first.edges);
    if (!isPainted && !isMoved && note === null) return say("desk.nothing");
    const cells = Uint8Array.from(draft.cells);
    for (const { outline } of patches) {
      const inside = cellsInside(grid, outline);
      for (const [i, is] of inside.entries()) if (is && onDeck[i]) cells[i] = DRY;
    }
    try {
      const mine = await sendMarkUp(id, {
        schemaVersion: 1,
        edges: isMoved ? [...edges] : [],
        patches: patches.map(({ outline }) => ({ class: "dry" as const, outline: outline.map(([x, y]) => [x, y]) })),
        note,
        classesPng: isPainted ? toBase64(classesPng(grid, cells)) : null,
      });
      clearTimeout(keeping);
      forgetDesk(id);
      heard.saved();
      return [say("review.edgesSaved"), await others(mine)].filter(Boolean).join(" ");
    } catch (error) {
      return [whyNot(error), keepDesk(id, draft) && say("desk.keptHere")].filter(Boolean).join(" ");
    }
  }
  /** Who else kept a correction while this desk was open: both are kept. */
  async function others({ id: mine }: MarkUp): Promise<string> {
    const [all, names] = await Promise.all([markUpsOf(id), peopleNames()]).catch(
      () => [[], new Map<string, string>()] as const,
    );
    const since = all.filter((one) => one.id !== mine && one.madeAt >= opened);
    const told = since.map(({ person, madeAt }) =>
      say("review.by", { name: names.get(person) ?? "", when: when(new Date(madeAt)) }),
    );
    return told.length > 0 ? say("desk.others", { who: told.join("; "), count: number(told.length) }) : "";
  }
  async function beginFrom({ id: from, markUp, classes }: MarkUp) {
    const painted =
      classes && cellsOf(await classesOf(`api/mark-ups/${from}/classes.png`, new AbortController().signal), grid);
    const edges: readonly MarkedEdge[] = markUp.edges.length > 0 ? markUp.edges : first.edges;
    const patches = markUp.patches.filter((patch) => patch.class === "dry").map(({ outline }) => ({ outline }));
    draft.setAll({ ...draft.marks(), edges, patches }, painted || read);
    lay();
  }
  lay();
  return { element, beginFrom };
}

/** Edges that the reading measured; ends of the outlet path are none. */
const edgesRead = ({ bands }: Reading): MarkedEdge[] =>
  bands.flatMap(({ kind, outlet }) =>
    outlet.flatMap(({ fromMm, toMm, fromErrorMm, toErrorMm }) => [
      ...(fromErrorMm === null ? [] : [{ kind, edge: "from" as const, atMm: Math.round(fromMm) }]),
      ...(toErrorMm === null ? [] : [{ kind, edge: "to" as const, atMm: Math.round(toMm) }]),
    ]),
  );

/** @returns null where this browser cannot open the photo. */
async function flatPhoto(reading: Reading, lengthMm: number, widthMm: number, isSharp: boolean) {
  const url = isSharp ? `api/photos/${reading.photo.sha256}/original` : previewUrl(reading.photo.sha256);
  const answer = await fetch(url);
  if (!answer.ok || !reading.view) return null;
  const photo = await createImageBitmap(await answer.blob());
  try {
    return layFlat(photo, reading, lengthMm, widthMm);
  } finally {
    photo.close();
  }
}
