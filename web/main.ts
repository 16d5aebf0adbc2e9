import type { DeckState, NewReadingInput } from "../vision/contract/index.ts";
import { fetchSample, listSamples } from "./api.ts";
import type { Camera } from "./camera.ts";
import { type DeckEntry, deckToSend, parseDeckFile } from "./deck.ts";
import { isOtherMaterial, keepSaid, keptDeckFiles, saidOf } from "./deck-kept.ts";
import { openKept } from "./kept.ts";
import { openPages } from "./pages.ts";
import {
  compareKept,
  earlierLooks,
  forget,
  forgetComparison,
  layFlat,
  lookAhead,
  readHere,
  readThere,
  reopen,
  takeIn,
} from "./photo-work.ts";
import { canStay, getReady, keepSample, keptSamples, readiness, stay } from "./program.ts";
import { quickLooks } from "./quick-looks.ts";
import { openReader } from "./reader.ts";
import { buildScreen, type Screen } from "./screen.ts";
import { openSender } from "./sending.ts";
import * as steps from "./state.ts";
import { inTrouble, loaded, Trouble } from "./trouble.ts";
import { chooseUs } from "./units.ts";
import { currentLanguage, preferredLanguage, rememberLanguage, say, speak } from "./words.ts";

/** Wires state, screen, device and server; decides nothing itself. */

let state = steps.FIRST_STATE;
let screen: Screen | null = null;
const show = (next: steps.State) => {
  const moved = next.step !== state.step;
  if (next.photo !== state.photo) forget(state.photo, state.result);
  else if (next.result !== state.result) forget(null, state.result);
  if (next.comparison?.seen?.flatUrls !== state.comparison?.seen?.flatUrls) forgetComparison(state.comparison?.seen);
  if (moved && state.step === "camera") camera?.stop();
  state = next;
  if (moved) keepPlace();
  screen?.update(state, moved);
};
const hear = (news: Partial<steps.Device>) => show(steps.hearDevice(state, news));

/** The browser's own way back leads from screen to screen before it leads out: one entry stands for all but the first. */
let isAway = false;
let isReturning = false;
function keepPlace(): void {
  const away = state.step !== "photo";
  if (away === isAway || isReturning) return;
  isAway = away;
  isReturning = !away;
  if (away) history.pushState("away", "");
  else history.back();
}
window.addEventListener("popstate", () => {
  const wasPressed = !isReturning && isAway;
  isReturning = false;
  isAway = false;
  if (wasPressed) goBack();
  keepPlace();
});
function goBack(): void {
  running?.abort();
  const before = steps.stepBefore(state);
  if (before === "photo") anotherPhoto();
  else show(steps.goTo(state, before));
}

/** A newer piece of work replaces an older; stopping it is no failure. */
let running: AbortController | null = null;
async function work(job: (signal: AbortSignal) => Promise<void>) {
  running?.abort();
  const mine = new AbortController();
  running = mine;
  try {
    await job(mine.signal);
  } catch (error) {
    if (mine.signal.aborted) return;
    show(steps.fail(state, inTrouble(error)));
  }
}
const stop = () => {
  running?.abort();
  show(steps.stopWaiting(state));
};

// a page that is closed or left does not wait any more; should it come back, it stands at the corners
window.addEventListener("pagehide", () => {
  if (state.step === "reading") stop();
});

// What this device keeps, and sends when it can

/** How many kept photos the list shows. */
const MOST_SHOWN = 12;
const kept = await openKept(() => void countKept());
const sender = openSender(kept, (sending) => {
  hear({ sending });
  if (sending.share === null) void countKept();
  // photos that arrived may belong to a run
  if (sending.share === null) pages.sendRuns();
});
const tools = { reader: openReader(), kept, sender };

async function countKept(): Promise<void> {
  const [waits, photos] = await Promise.all([kept.waits(), kept.newestPhotos(MOST_SHOWN)]);
  const readings = await Promise.all(photos.map(({ id }) => kept.newestReading(id)));
  const lines = photos.map(({ id, name, keptAt, seen, state }, i) => {
    return { id, name, keptAt, thumbUrl: seen?.thumbUrl ?? null, state, reading: readings[i]?.reading ?? null };
  });
  hear({ waits, kept: lines });
}

const takeFile = (
  file: Blob,
  name: string,
  sample: Parameters<typeof steps.takePhoto>[2] = null,
  deckState: DeckState = "unknown",
) =>
  work(async (signal) => {
    show(steps.waitFor(state, say("photo.opening")));
    const photo = await takeIn(tools, { file, name, own: sample === null }, signal);
    show({ ...steps.takePhoto(state, photo, sample), deckState });
    if (photo.own && !photo.isKept)
      show(steps.fail(state, { title: say("kept.full.title"), detail: say("kept.full") }));
    beginLooking();
    await countKept();
  });
/** What this device is likely to be asked next is begun while the person looks. */
function beginLooking(): void {
  const { photo, device } = state;
  if (photo && device.readiness.state === "ready") lookAhead(tools, photo, requestOf(state, photo.id));
}
const trySample = (name: string) =>
  work(async (signal) => {
    const sample = state.samples.find((s) => s.name === name)!;
    show(steps.waitFor(state, say("photo.fetching")));
    const photo = await fetchSample(sample.photoUrl, signal).catch(async (error: unknown) => {
      if (canStay()) show({ ...state, samples: await onlyKept(state.samples) });
      throw error;
    });
    await takeFile(photo, sample.photoUrl.split("/").at(-1)!, sample);
  });
const onlyKept = async (samples: steps.State["samples"]) => {
  const urls = await keptSamples(samples.map((s) => s.photoUrl));
  return samples.filter((s) => urls.includes(s.photoUrl));
};
const openKeptPhoto = (id: string) =>
  work(async (signal) => {
    const found = await reopen(kept, id);
    signal.throwIfAborted();
    if (found) return show(steps.reopen(state, found));
    // only the server can open this one
    const [photo, files] = await Promise.all([kept.photo(id), kept.files(id)]);
    if (photo && files) await takeFile(files.file, photo.name);
  });
/** What was said of this deck when it was last here comes back. */
function describeDeck(entry: DeckEntry): void {
  const was = deckToSend(state.deck);
  show(steps.describeDeck(state, entry));
  const deck = deckToSend(entry);
  const isOther = deck?.name !== was?.name || deck?.lengthMm !== was?.lengthMm || deck?.widthMm !== was?.widthMm;
  if (isOther && !state.ownDeck) recall();
}
/** Splitters are the deck's own; settings and material stay where nothing is known of this one. */
function recall(): void {
  const { settings, profile, aim, splittersMm } = saidOf(deckToSend(state.deck)) ?? { ...state, splittersMm: {} };
  show(steps.sayOfDeck(state, { settings, profile, aim, splittersMm }));
}
function anotherPhoto(): void {
  const wasForeign = state.ownDeck !== null;
  show(steps.anotherPhoto(state));
  if (wasForeign) recall();
}
function sayOfDeck(said: Parameters<typeof steps.sayOfDeck>[1]): void {
  show(steps.sayOfDeck(state, said));
  if (state.ownDeck) return; // a sample's
  const deck = deckToSend(state.deck);
  const { settings, profile, aim, splittersMm } = state;
  const before = saidOf(deck);
  const twin = before && !isOtherMaterial(before.profile, profile) ? before.twin : undefined;
  keepSaid(deck, { settings: steps.lasting(settings), profile, aim, splittersMm, ...(twin && { twin }) });
}
const loadDeckFile = async (file: File) => {
  try {
    describeDeck({ ...state.deck, file: parseDeckFile(await file.text()) });
  } catch (error) {
    show(steps.fail(state, { title: say("deck.fileFault.title"), detail: (error as Error).message }));
  }
};

/** Draw a corner to the photo's edges, where this device can, unless the person goes on meanwhile. */
async function drawToEdge(index: number, handPx: number): Promise<void> {
  const { photo, corners, deck, device, step } = state;
  if (!photo || device.readiness.state !== "ready") return;
  const to = await tools.reader
    .drawToEdge(photo, { deck: deckToSend(deck), corners, handPx, index })
    .catch((error: unknown) => console.warn(error)); // an extra: the corner stays where it was put
  if (to === undefined || state.photo !== photo || state.corners !== corners || state.step !== step) return;
  show(steps.drawCorner(state, index, to));
}

const follow = quickLooks(
  tools.reader,
  () => state,
  (quick) => show(steps.seeQuick(state, quick)),
);

const read = () => {
  const fault = screen?.deckFault();
  if (fault) return show(steps.fail(state, { title: say("deck.sizeFault.title"), detail: fault }));
  const wrong = screen?.settingsFault();
  if (wrong) return show(steps.fail(state, { title: say("settings.fault.title"), detail: wrong }));
  const photo = state.photo!;
  const asked = requestOf(state, photo.id);
  void work(async (signal) => {
    show(steps.startReading(state));
    const earlier = await earlierLooks(kept, photo, asked.deck);
    const request = { ...asked, ...(earlier.length > 0 && { earlier }) };
    const onStage = (stage: NonNullable<steps.State["stage"]>) => show(steps.reachStage(state, stage));
    show(steps.showResult(state, await readAnywhere(photo, request, onStage, signal)));
    await countKept();
  });
};
function requestOf(state: steps.State, photo: string): NewReadingInput {
  const { deck: entry, corners, cornersSet, taps, firstCorner, profile, aim, deckState } = state;
  const deck = deckToSend(entry, state.splittersMm);
  const twin = state.ownDeck ? undefined : saidOf(deck)?.twin;
  const settings = { ...state.settings, ...(twin && { twin }) };
  // corners that are given tell which way round the deck lies
  const first = firstCorner && !cornersSet ? { firstCorner: [firstCorner[0], firstCorner[1]] as [number, number] } : {};
  return {
    photo,
    // corners nobody set are a guess to drag from: the program then finds the deck itself
    corners: cornersSet ? { corners: corners.map(([x, y]): [number, number] => [x, y]) } : null,
    ...(deck && { deck }),
    ...((taps.length > 0 || "firstCorner" in first) && { taps: { taps: [...taps], ...first } }),
    ...(Object.keys(settings).length > 0 && { settings }),
    ...(Object.keys(profile).length > 0 && { profile }),
    ...(Object.keys(aim).length > 0 && { aim }),
    ...(deckState !== "unknown" && { deckState }),
  };
}

/** On this device where it is ready for that, else by the server. */
async function readAnywhere(...[photo, request, onStage, signal]: Reading): Promise<steps.Result> {
  if (state.device.readiness.state === "ready") {
    try {
      return await readHere(tools, photo, request, onStage, signal);
    } catch (error) {
      // this device may lack the memory, where the server does not
      if (signal.aborted || !(error instanceof Trouble && error.code === "internal")) throw error;
      console.error(error.cause);
    }
  }
  const wasGetting = pauseGetting(); // the line is for the photo now
  try {
    return await readThere(tools, photo, request, onStage, signal);
  } finally {
    if (wasGetting) void getFiles();
  }
}
type Reading = [steps.ShownPhoto, NewReadingInput, Parameters<typeof readHere>[3], AbortSignal];

/** The reading on the screen as a page to print, or as a case file; null where it could not be made. */
async function takeAway(as: "report" | "case"): Promise<Blob | null> {
  const { photo, result, device } = state;
  const read = { photo: photo!, result: result!, request: requestOf(state, photo!.id) };
  const { signal } = new AbortController();
  try {
    const { makeCase, makeReport } = await loaded(import("./paperwork.ts"));
    if (as === "case") return await makeCase(read, signal);
    return await makeReport(tools, read, device.readiness.state === "ready", signal);
  } catch (error) {
    if (state.result === result) show(steps.fail(state, inTrouble(error)));
    return null;
  }
}
const openCaseFile = (file: File) =>
  work(async (signal) => {
    show(steps.waitFor(state, say("case.opening")));
    const { openCase } = await loaded(import("./paperwork.ts"));
    const found = await openCase(tools, file, signal);
    signal.throwIfAborted();
    show(steps.reopen(state, found));
  });

/** The reading on the flat deck; what draws it is loaded when it is first wanted. */
async function flat(): Promise<HTMLElement | null> {
  const { photo, result, device } = state;
  try {
    const { flatView } = await loaded(import("./parts/flat-view.ts"));
    const canLay = device.readiness.state === "ready";
    const request = requestOf(state, photo!.id);
    return flatView(await layFlat(tools, photo!, result!, request, canLay, new AbortController().signal));
  } catch (error) {
    if (state.result === result) show(steps.fail(state, inTrouble(error)));
    return null;
  }
}

/** What people far away say of the result; stays hidden where the server does not answer: the result stands without it. */
function beside(): HTMLElement {
  const { photo, result } = state;
  const element = document.createElement("section");
  element.hidden = true;
  if (!photo || !result) return element;
  void (async () => {
    const { reviewAsked } = await import("./review-asked.ts");
    element.replaceWith(await reviewAsked(photo.id, result.reading));
  })().catch((error: unknown) => console.info(error));
  return element;
}

// Two kept photos of one deck

const compare = (choice: Partial<steps.Comparison>) =>
  work(async (signal) => {
    const [after, before] = steps.comparable(state.device.kept);
    if (!before || !after) return;
    const first = state.comparison ?? { before: before.id, after: after.id, followed: null, seen: null };
    // other photos are laid flat anew; another hint is judged by the same ones
    const seen = "before" in choice || "after" in choice ? null : first.seen;
    const asked: steps.Comparison = { ...first, ...choice, seen };
    show(steps.waitFor(steps.compare(state, asked), say("compare.working")));
    const judged = await compareKept(tools, asked, signal);
    signal.throwIfAborted();
    show(steps.compare(state, { ...asked, seen: judged }));
    if (!judged) show(steps.fail(state, { title: say("compare.unlike.title"), detail: say("compare.unlike") }));
  });

// The program itself, on this device

let getting: AbortController | null = null;
function pauseGetting(): boolean {
  const was = getting !== null;
  getting?.abort();
  return was;
}
async function getFiles(): Promise<void> {
  getting?.abort();
  const mine = new AbortController();
  getting = mine;
  try {
    hear({ readiness: { state: "getting", share: 0 } });
    await getReady((share) => hear({ readiness: { state: "getting", share } }), mine.signal);
    await keepOneSample();
    hear({ readiness: { state: "ready" } });
  } catch {
    const now = await readiness().catch(() => ({ state: "offered", sentBytes: 0 }) as const);
    hear({ readiness: now.state === "offered" && !mine.signal.aborted ? { ...now, state: "broken" } : now });
  } finally {
    if (getting === mine) getting = null;
  }
}
/** To try the program without a network. */
async function keepOneSample(): Promise<void> {
  const [first] = state.samples;
  if (first) await keepSample(first.photoUrl).catch((error: unknown) => console.warn(error));
}
let changeOver = () => {};
async function stayHere(): Promise<void> {
  await stay((use) => {
    changeOver = use;
    hear({ renewed: true });
  });
  if (state.device.readiness.state === "offered" && !wantsFewBytes()) await getFiles();
}
const wantsFewBytes = () => (navigator as { connection?: { saveData?: boolean } }).connection?.saveData === true;
addEventListener("online", () => state.device.readiness.state === "broken" && void getFiles());

// The camera

let camera: Camera | null = null;
const openCamera = () =>
  work(async (signal) => {
    show(steps.waitFor(state, say("camera.opening")));
    const { openCamera: open } = await loaded(import("./camera.ts"));
    const canGuide = state.device.readiness.state === "ready";
    if (canGuide) tools.reader.warm();
    camera = await open(
      {
        reader: tools.reader,
        deck: deckToSend(state.deck),
        canGuide,
        take: (photo, name, deckState) => {
          show(steps.closeCamera(state));
          void takeFile(photo, name, null, deckState);
        },
        fail: (error) => {
          show(steps.fail(steps.closeCamera(state), inTrouble(error)));
        },
        close: () => show(steps.closeCamera(state)),
      },
      signal,
    );
    show(steps.openCamera(state));
  });

// Pages beside the photo

const pages = openPages({
  work,
  show,
  state: () => state,
  kept,
  openPhoto: (id) => void openKeptPhoto(id),
  describeDeck,
});

// The screen

const actions: Parameters<typeof buildScreen>[0] = {
  photo: { photo: (file) => void takeFile(file, file.name), sample: (name) => void trySample(name), stop },
  corner: {
    move: (index, to) => show(steps.moveCorner(state, index, to)),
    letGo: (index, handPx) => void drawToEdge(index, handPx).then(() => state.result && follow()),
    putBack: () => show(steps.putBack(state)),
  },
  deck: {
    deck: describeDeck,
    edit: () => pages.open("deck"),
    kept: keptDeckFiles,
    deckFile: (file) => void loadDeckFile(file),
  },
  settings: {
    settings: (settings) => sayOfDeck({ settings }),
    splitters: (splittersMm) => sayOfDeck({ splittersMm }),
  },
  material: {
    profile: (profile) => sayOfDeck({ profile }),
    aim: (aim) => sayOfDeck({ aim }),
    materials: async () => (await import("./known-materials.ts")).MATERIALS,
  },
  tap: {
    add: (tap) => {
      show(steps.addTap(state, tap));
      void follow();
    },
    undo: () => {
      show(steps.undoTap(state));
      void follow();
    },
  },
  turn: {
    tap: (at) => {
      show(steps.sayFirstCorner(state, at));
      read();
    },
    changeCorners: () => show(steps.changeCorners(state)),
    anotherPhoto,
  },
  kept: { open: (id) => void openKeptPhoto(id), remove: (id) => void kept.remove(id).then(countKept) },
  camera: { open: () => void openCamera(), screen: () => camera!.screen() },
  pages,
  beside,
  openComparison: () => void compare({}),
  comparison: {
    choose: (choice) => void compare(choice),
    close: () => {
      running?.abort();
      show(steps.closeComparison(state));
    },
  },
  readiness: { getReady: () => void getFiles(), wait: () => void pauseGetting(), renew: () => changeOver() },
  result: {
    changeCorners: () => {
      show(steps.changeCorners(state));
      if (state.result) void follow();
    },
    sayTaps: () => {
      show(steps.sayTaps(state));
      void follow().then(beginLooking);
    },
    anotherPhoto,
  },
  flat,
  takeAway,
  caseFile: (file) => void openCaseFile(file),
  back: goBack,
  language: (code) => void changeLanguage(code),
  units: (us) => {
    chooseUs(us);
    screen = drawScreen();
  },
  read,
  letFind: () => show(steps.layCornersAnew(state)),
  stop,
};
async function changeLanguage(code: string): Promise<void> {
  await speak(code).catch(() => speak("en")); // its file cannot be had
  rememberLanguage(currentLanguage());
  screen = drawScreen();
}
function drawScreen() {
  document.documentElement.lang = currentLanguage();
  document.documentElement.dir = say("language.direction");
  const unfolded = () => [...document.querySelectorAll<HTMLDetailsElement>("main details")];
  const wereOpen = unfolded().map(({ open }) => open);
  const made = buildScreen(actions);
  made.update(state, false);
  // the same screen in other words: what stood open stays open
  for (const [i, part] of unfolded().entries()) part.open = wereOpen[i] ?? part.open;
  return made;
}

await speak(preferredLanguage()).catch(() => speak("en"));
screen = drawScreen();
if (canStay()) hear({ readiness: await readiness().catch(() => ({ state: "impossible" }) as const) });
await countKept();
sender.wake();
pages.takeUp();
// samples are an extra: without them the page works all the same
await listSamples().then(
  (samples) => show({ ...state, samples }),
  () => {},
);
// some browsers let no page stay; it then works as long as the server does
if (canStay()) await stayHere().catch((error: unknown) => console.warn(error));
