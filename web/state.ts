import type { PhotoReceipt, Reading, Sample, SettingsFile, StageEvent, Tap } from "../vision/contract/index.ts";
import {
  type Corner,
  type DeckEntry,
  FIRST_DECK,
  firstCorners,
  handOf,
  mirrored,
  outlineOf,
  signedArea,
} from "./deck.ts";

/** What the page knows, and the pure steps that change it. Nothing a person did is ever dropped by a failure. */

export type Step = "photo" | "corners" | "taps" | "reading" | "result";
export interface State {
  readonly step: Step;
  /** What is being waited for, in words; null when nothing is. */
  readonly busy: string | null;
  readonly problem: { readonly title: string; readonly detail: string } | null;
  readonly samples: readonly Sample[];
  readonly photo: PhotoReceipt | null;
  readonly deck: DeckEntry;
  /** What the person said of their own deck, while a sample's deck stands in `deck`; else null. */
  readonly ownDeck: DeckEntry | null;
  /** Corners in full-size photo pixels, in the outline's order. */
  readonly corners: readonly Corner[];
  /** Whether the person, or a sample, has put the corners somewhere: an untouched guess may be laid anew. */
  readonly cornersSet: boolean;
  /** What the person said that spots show, full-size photo pixels, in the order in which it was said. */
  readonly taps: readonly Tap[];
  /** What the controls stand at, as far as the person says. */
  readonly settings: SettingsFile;
  /** The step that a reading was asked from: where to go back to. */
  readonly askedFrom: "corners" | "taps";
  readonly stage: StageEvent["stage"] | null;
  readonly result: { readonly id: string; readonly reading: Reading } | null;
}
export const FIRST_STATE: State = {
  step: "photo",
  busy: null,
  problem: null,
  samples: [],
  photo: null,
  deck: FIRST_DECK,
  ownDeck: null,
  corners: [],
  cornersSet: false,
  taps: [],
  settings: {},
  askedFrom: "corners",
  stage: null,
  result: null,
};

/** Which way each arrow key points. */
export const ARROWS: Readonly<Record<string, Corner>> = {
  ArrowLeft: [-1, 0],
  ArrowRight: [1, 0],
  ArrowUp: [0, -1],
  ArrowDown: [0, 1],
};

export const waitFor = (state: State, busy: string): State => ({ ...state, busy, problem: null });
export const fail = (state: State, problem: State["problem"]): State => ({
  ...state,
  problem,
  busy: null,
  stage: null,
  step: state.step === "reading" ? state.askedFrom : state.step,
});
export const stopWaiting = (state: State): State => fail(state, null);

/** A photo has arrived; a sample brings its deck and corners along, for as long as it is looked at. */
export function takePhoto(state: State, photo: PhotoReceipt, sample: Sample | null = null): State {
  const own = state.ownDeck ?? state.deck;
  const deck = sample ? { ...FIRST_DECK, file: sample.deck } : own;
  const given = sample?.corners?.corners ?? null;
  const corners = given ?? firstCorners(deck, photo.widthPx, photo.heightPx);
  return {
    ...state,
    photo,
    deck,
    ownDeck: sample ? own : null,
    corners,
    cornersSet: given !== null,
    taps: [],
    step: "corners",
    busy: null,
    problem: null,
    result: null,
  };
}

export function moveCorner(state: State, index: number, to: Corner): State {
  return { ...state, corners: state.corners.map((c, i) => (i === index ? to : c)), cornersSet: true };
}

/** The deck entry changed: corners stay where they are if they still fit its outline, else they are laid anew. */
export function describeDeck(state: State, deck: DeckEntry): State {
  if (!state.photo) return { ...state, deck, problem: null };
  const guess = () => firstCorners(deck, state.photo!.widthPx, state.photo!.heightPx);
  const fits = outlineOf(deck).length === state.corners.length;
  const turned = handOf(deck) !== handOf(state.deck);
  if (!state.cornersSet || !fits) return { ...state, deck, corners: guess(), cornersSet: false, problem: null };
  const corners = turned ? (mirrored(state.corners) ?? guess()) : state.corners;
  return { ...state, deck, corners, problem: null };
}

export const layCornersAnew = (state: State): State => ({
  ...state,
  corners: firstCorners(state.deck, state.photo!.widthPx, state.photo!.heightPx),
  cornersSet: false,
});
export const startReading = (state: State): State => ({
  ...state,
  step: "reading",
  askedFrom: state.step === "taps" ? "taps" : "corners",
  stage: "waiting",
  problem: null,
  busy: null,
});
export const reachStage = (state: State, stage: StageEvent["stage"]): State => ({ ...state, stage });
/** The reading is there. Corners that the program found stand where it found them, to be checked and moved. */
export function showResult(state: State, result: State["result"]): State {
  const found = state.cornersSet ? null : result?.reading.view?.cornersPx;
  const known = state.deck.sizeKnown || state.deck.file !== null;
  const hand = found && signedArea(found) < 0 ? ("left" as const) : ("right" as const);
  return {
    ...state,
    result,
    step: "result",
    stage: null,
    ...(found && { corners: found, deck: known ? state.deck : { ...state.deck, hand } }),
  };
}
export const changeCorners = (state: State): State => ({ ...state, step: "corners", problem: null });
/** A spot shows this. Said twice of one spot, the later counts. */
export const addTap = (state: State, tap: Tap): State => ({
  ...state,
  taps: [...state.taps.filter(({ at }) => at[0] !== tap.at[0] || at[1] !== tap.at[1]), tap],
});
export const undoTap = (state: State): State => ({ ...state, taps: state.taps.slice(0, -1) });
export const sayTaps = (state: State): State => ({ ...state, step: "taps", problem: null });
export const setSettings = (state: State, settings: SettingsFile): State => ({ ...state, settings });
/** Another photo of, most likely, the same deck: what was said about the deck stays, a sample's deck does not. */
export const anotherPhoto = (state: State): State => ({
  ...FIRST_STATE,
  samples: state.samples,
  deck: state.ownDeck ?? state.deck,
  settings: state.ownDeck ? {} : state.settings,
});
