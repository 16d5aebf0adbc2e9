import type {
  AimFile,
  DeckState,
  MaterialProfile,
  PhotoReceipt,
  Reading,
  Sample,
  SettingsFile,
  StageEvent,
  Tap,
} from "../vision/contract/index.ts";
import type { Helped } from "../vision/index.ts";
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
import type { Reopened } from "./photo-work.ts";
import type { Readiness } from "./program.ts";
import type { QuickLook } from "./quick-look.ts";
import type { Sending } from "./sending.ts";

/** A photo on the screen. */
export interface ShownPhoto extends PhotoReceipt {
  /** A picture of it of at most PREVIEW_PX, here or on the server. */
  readonly previewUrl: string;
  readonly file: Blob;
  /** The person's own; a sample is not kept and not sent of itself. */
  readonly own: boolean;
  /** Whether this device keeps it. */
  readonly isKept: boolean;
}
/** What is drawn of a reading: a picture, and what is laid over it where it is not drawn in already. */
export interface Picture {
  readonly photoUrl: string;
  readonly drawingUrl: string | null;
}
/** A reading, with the addresses of its parts. Picture and classes null for an unusable photo. */
export interface Result {
  readonly reading: Reading;
  readonly readingUrl: string;
  readonly picture: Picture | null;
  readonly classesUrl: string | null;
  /** The same picture's bytes, where they are here. */
  readonly classesPng: Uint8Array<ArrayBuffer> | null;
}
/** A photo that this device keeps, as a list shows it. */
export interface KeptLine {
  readonly id: string;
  readonly name: string;
  readonly keptAt: number;
  readonly thumbUrl: string | null;
  readonly state: "waits" | "sent" | "refused";
  readonly reading: Reading | null;
}
/** Two kept photos side by side. */
export interface Comparison {
  readonly before: string;
  readonly after: string;
  /** Which hint of the earlier reading was followed; null: none of them. */
  readonly followed: number | null;
  /** Null until they are laid flat and judged. */
  readonly seen: { readonly flatUrls: readonly [string, string]; readonly helped: Helped } | null;
}
/** A quick look at the photo, and the corners that it was taken with. */
export interface Quick {
  readonly corners: State["corners"];
  readonly look: QuickLook;
}
/** What the page knows of the device it runs on. */
export interface Device {
  readonly readiness: Readiness;
  /** A newer version of the program is here and waits. */
  readonly renewed: boolean;
  readonly waits: { readonly photos: number; readonly readings: number };
  readonly sending: Sending;
  readonly kept: readonly KeptLine[];
}

/** What the page knows, and the pure steps that change it. Nothing a person did is ever dropped by a failure. */

export type Step = "photo" | "corners" | "taps" | "reading" | "turn" | "result" | "camera" | "compare" | PageStep;
/** Pages beside the photo: the set-up at the table, runs, decks in time, what people far away know, the deck file. */
export type PageStep = "setup" | "runs" | "history" | "far" | "deck";
export interface State {
  readonly step: Step;
  /** What is being waited for, in words; null when nothing is. */
  readonly busy: string | null;
  /** `foreign`: the detail came in English, whatever the page speaks. */
  readonly problem: { readonly title: string; readonly detail: string; readonly foreign?: boolean } | null;
  readonly samples: readonly Sample[];
  readonly photo: ShownPhoto | null;
  readonly deck: DeckEntry;
  /** What the person said of their own deck, while a sample's deck stands in `deck`; else null. */
  readonly ownDeck: DeckEntry | null;
  /** Corners in full-size photo pixels, in the outline's order. */
  readonly corners: readonly Corner[];
  /** Whether the person, or a sample, has put the corners somewhere: an untouched guess may be laid anew. */
  readonly cornersSet: boolean;
  /** What became of the corner that was last let go: where it was put, before it was drawn to the photo's edges; null where no clear edge is near. */
  readonly drawn: { readonly index: number; readonly from: Corner | null } | null;
  /** What the person said that spots show, full-size photo pixels, in the order in which it was said. */
  readonly taps: readonly Tap[];
  /** What taps and corners make of the photo, before it is read; null before the first such look. */
  readonly quick: Quick | null;
  /** Near which spot the deck's first corner lies, full-size photo pixels, where the person was asked. */
  readonly firstCorner: Corner | null;
  /** What the frames of the camera's burst told. */
  readonly deckState: DeckState;
  /** What the controls stand at, as far as the person says. */
  readonly settings: SettingsFile;
  /** What the bands are made of, and what the person wants of them. */
  readonly profile: MaterialProfile;
  readonly aim: AimFile;
  /** Where splitters stand, outlet mm, by name, where that is not as the deck file says. */
  readonly splittersMm: Readonly<Record<string, number>>;
  /** The step that a reading was asked from: where to go back to. */
  readonly askedFrom: "corners" | "taps" | "turn";
  readonly stage: StageEvent["stage"] | null;
  readonly result: Result | null;
  readonly comparison: Comparison | null;
  readonly device: Device;
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
  drawn: null,
  taps: [],
  quick: null,
  firstCorner: null,
  deckState: "unknown",
  settings: {},
  profile: {},
  aim: {},
  splittersMm: {},
  askedFrom: "corners",
  stage: null,
  result: null,
  comparison: null,
  device: {
    readiness: { state: "impossible" },
    renewed: false,
    waits: { photos: 0, readings: 0 },
    sending: { share: null, hindrance: null },
    kept: [],
  },
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
/** A page beside the photo, from the first step and back to it; the deck file's from the corners (`changeCorners` leads back). */
export const openPage = (state: State, step: PageStep): State => ({ ...state, step, busy: null, problem: null });
export const closePage = (state: State): State => ({ ...state, step: "photo", problem: null });
/** Kept photos that can be laid beside another: their deck was seen. */
export const comparable = (kept: readonly KeptLine[]) =>
  kept.filter((line): line is KeptLine & { reading: Reading } => line.reading?.quality.usable === true);
/** Two kept photos are compared, from the first step and back to it. */
export const compare = (state: State, comparison: Comparison): State => ({
  ...state,
  comparison,
  step: "compare",
  busy: null,
  problem: null,
});
export const closeComparison = (state: State): State => ({
  ...state,
  comparison: null,
  step: "photo",
  busy: null,
  problem: null,
});
/** The camera is on; and off again, back where photos are taken or chosen. */
export const openCamera = (state: State): State => ({ ...state, step: "camera", busy: null, problem: null });
export const closeCamera = (state: State): State => ({ ...state, step: "photo", busy: null });
export const stopWaiting = (state: State): State => fail(state, null);

/** A photo has arrived; a sample brings its deck and corners along, for as long as it is looked at. */
export function takePhoto(state: State, photo: ShownPhoto, sample: Sample | null = null): State {
  const own = state.ownDeck ?? state.deck;
  const deck = sample ? { ...FIRST_DECK, file: sample.deck } : own;
  const given = sample?.corners?.corners ?? null;
  const corners = given ?? firstCorners(deck, photo.widthPx, photo.heightPx);
  return {
    ...state,
    photo,
    deck,
    ownDeck: sample ? own : null,
    ...(sample && { settings: {}, profile: {}, aim: {}, splittersMm: {} }),
    corners,
    cornersSet: given !== null,
    drawn: null,
    taps: [],
    quick: null,
    firstCorner: null,
    deckState: "unknown",
    step: "corners",
    busy: null,
    problem: null,
    result: null,
  };
}

/** A photo that was kept comes back, with what was said of it when it was last read. */
export function reopen(state: State, { photo, last }: Reopened): State {
  const taken = takePhoto(state, photo);
  if (!last) return taken;
  const { request, result } = last;
  const given = request.corners?.corners;
  const said: State = {
    ...taken,
    ...(request.deck && { deck: { ...FIRST_DECK, file: request.deck } }),
    ownDeck: taken.deck,
    settings: request.settings ?? {},
    profile: request.profile ?? {},
    aim: request.aim ?? {},
    splittersMm: Object.fromEntries((request.deck?.splitters ?? []).map(({ name, atMm }) => [name, atMm])),
    ...(given && { corners: given, cornersSet: true }),
    taps: request.taps?.taps ?? [],
    firstCorner: request.taps?.firstCorner ?? null,
    deckState: request.deckState ?? "unknown",
  };
  return showResult(said, result);
}

export function moveCorner(state: State, index: number, to: Corner): State {
  return { ...state, corners: state.corners.map((c, i) => (i === index ? to : c)), cornersSet: true, drawn: null };
}
/** A corner that was let go is drawn to where the photo's edges cross; `to` null where none are near. */
export function drawCorner(state: State, index: number, to: Corner | null): State {
  const from = state.corners[index]!;
  return to ? { ...moveCorner(state, index, to), drawn: { index, from } } : { ...state, drawn: { index, from: null } };
}
/** The corner goes back to where the person put it. */
export const putBack = (state: State): State =>
  state.drawn?.from ? moveCorner(state, state.drawn.index, state.drawn.from) : state;

/** The deck entry changed: corners stay where they are if they still fit its outline, else they are laid anew. */
export function describeDeck(state: State, deck: DeckEntry): State {
  if (!state.photo) return { ...state, deck, problem: null };
  const guess = () => firstCorners(deck, state.photo!.widthPx, state.photo!.heightPx);
  const fits = outlineOf(deck).length === state.corners.length;
  const turned = handOf(deck) !== handOf(state.deck);
  if (!state.cornersSet || !fits)
    return { ...state, deck, corners: guess(), cornersSet: false, drawn: null, problem: null };
  const corners = turned ? (mirrored(state.corners) ?? guess()) : state.corners;
  return { ...state, deck, corners, drawn: turned ? null : state.drawn, problem: null };
}

export const layCornersAnew = (state: State): State => ({
  ...state,
  corners: firstCorners(state.deck, state.photo!.widthPx, state.photo!.heightPx),
  cornersSet: false,
  drawn: null,
});
export const startReading = (state: State): State => ({
  ...state,
  step: "reading",
  askedFrom: state.step === "taps" || state.step === "turn" ? state.step : "corners",
  stage: "waiting",
  problem: null,
  busy: null,
});
export const reachStage = (state: State, stage: StageEvent["stage"]): State => ({ ...state, stage });
/**
 * The reading is there. Corners that the program found stand where it found them, to be checked and moved. Where only the way
 * round is not known, one tap is asked for.
 */
export function showResult(state: State, result: State["result"]): State {
  const found = state.cornersSet ? null : result?.reading.view?.cornersPx;
  const known = state.deck.sizeKnown || state.deck.file !== null;
  const hand = found && signedArea(found) < 0 ? ("left" as const) : ("right" as const);
  return {
    ...state,
    result,
    step: result && isTurnUnsure(result) ? "turn" : "result",
    stage: null,
    ...(found && { corners: found, deck: known ? state.deck : { ...state.deck, hand } }),
  };
}
const isTurnUnsure = ({ reading: { quality } }: Result) =>
  !quality.usable && quality.issues.some(({ kind }) => kind === "turn-unsure");
/** The deck's first corner lies here: which way round it lies. */
export const sayFirstCorner = (state: State, firstCorner: Corner): State => ({ ...state, firstCorner });
/** News of the device; what the person does goes on. */
export const hearDevice = (state: State, news: Partial<Device>): State => ({
  ...state,
  device: { ...state.device, ...news },
});
/** Where the way back leads. */
export function stepBefore({ step, result, askedFrom }: State): Step {
  const seen = result && (isTurnUnsure(result) ? ("turn" as const) : ("result" as const));
  if (step === "deck") return "corners";
  if (step === "reading") return askedFrom;
  if (step === "taps") return seen ?? "corners";
  if (step === "corners") return seen ?? "photo";
  return "photo";
}
export const goTo = (state: State, step: Step): State => ({ ...fail(state, null), step });
export const changeCorners = (state: State): State => ({ ...state, step: "corners", problem: null });
/** A spot shows this. Said twice of one spot, the later counts. */
export const addTap = (state: State, tap: Tap): State => ({
  ...state,
  taps: [...state.taps.filter(({ at }) => at[0] !== tap.at[0] || at[1] !== tap.at[1]), tap],
});
export const undoTap = (state: State): State => ({ ...state, taps: state.taps.slice(0, -1) });
export const seeQuick = (state: State, quick: Quick): State => ({ ...state, quick });
export const sayTaps = (state: State): State => ({ ...state, step: "taps", problem: null });
/** What the person says of deck and material, or said of it when it was last here. */
export const sayOfDeck = (
  state: State,
  said: Partial<Pick<State, "settings" | "profile" | "aim" | "splittersMm">>,
): State => ({ ...state, ...said });
/** Without what holds for the moment of one photo only: grains counted, things seen by eye. */
export function lasting(settings: SettingsFile): SettingsFile {
  const { edgeCounts: _counts, seen: _seen, ...others } = settings;
  return others;
}
/** Another photo of, most likely, the same deck: what was said about the deck stays, a sample's deck does not. */
export const anotherPhoto = (state: State): State => ({
  ...FIRST_STATE,
  samples: state.samples,
  device: state.device,
  deck: state.ownDeck ?? state.deck,
  settings: state.ownDeck ? {} : lasting(state.settings),
  ...(!state.ownDeck && { profile: state.profile, aim: state.aim, splittersMm: state.splittersMm }),
});
