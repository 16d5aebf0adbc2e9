import type { DeckFile } from "../vision/contract/index.ts";
import { type DeckEntry, deckToSend } from "./deck.ts";
import { keepDeckFile } from "./deck-kept.ts";
import type { Kept } from "./kept.ts";
import { keepEntry, keptEntries } from "./set-up-kept.ts";
import * as steps from "./state.ts";
import { loaded } from "./trouble.ts";

/** Pages beside the photo: the script of each is loaded when it is first opened. */

export type PageName = "set-up" | "runs" | "history" | "deck" | FarPage;
/** What people far away know: references, lessons, the practice deck, reviews. */
type FarPage = keyof typeof FAR_PAGES;
const FAR_PAGES = {
  gallery: async () => (await import("./gallery-page.ts")).galleryScreen,
  lesson: async () => (await import("./lesson-page.ts")).lessonScreen,
  practice: async () => (await import("./practice-page.ts")).practiceScreen,
  review: async () => (await import("./review-page.ts")).reviewScreen,
};

/** What pages need of the rest of the program. */
export interface Around {
  /** A newer piece of work replaces an older. */
  readonly work: (job: (signal: AbortSignal) => Promise<void>) => void;
  readonly show: (next: steps.State) => void;
  readonly state: () => steps.State;
  readonly kept: Kept;
  readonly openPhoto: (id: string) => void;
  readonly describeDeck: (entry: DeckEntry) => void;
}
export type Pages = ReturnType<typeof openPages>;

/** By these names it is kept that runs were opened, and (as `alarm-push.ts` has it) that alarms are to be told. */
const RUNS_OPENED = "runs opened";
const ALARMS_WANTED = "alarms wanted";

export function openPages({ work, show, state, kept, openPhoto, describeDeck }: Around) {
  /** The page that was opened last, made anew when the language changes. */
  let element = (): HTMLElement => document.createElement("div");
  const close = () => show(steps.closePage(state()));
  /** @param load  What makes the page, once its script and what it shows are here. */
  const opened = (step: steps.PageStep, load: (signal: AbortSignal) => Promise<() => HTMLElement>) =>
    work(async (signal) => {
      const made = await load(signal);
      signal.throwIfAborted();
      element = made;
      show(steps.openPage(state(), step));
    });

  const setUp = async () => {
    const { setUpScreen } = await loaded(import("./set-up.ts"));
    return () => setUpScreen(deckToSend(state().deck), close);
  };
  const far = async (name: FarPage) => {
    const screen = await loaded(FAR_PAGES[name]());
    const practise = () => {
      close();
      open("practice");
    };
    return () => screen(close, practise);
  };
  /** The deck file, drawn and typed. */
  const deck = async () => {
    const { deckEditor } = await loaded(import("./deck-editor.ts"));
    const { lengthMm, widthMm, hand, file } = state().deck;
    const first = file ?? { schemaVersion: 1, name: "", hand, lengthMm, widthMm };
    const leave = () => show(steps.changeCorners(state()));
    const save = (made: DeckFile) => {
      keepDeckFile(made);
      leave();
      describeDeck({ ...state().deck, file: made });
    };
    return () => deckEditor(first, { save, close: leave });
  };
  /** Decks in time. */
  const history = async (signal: AbortSignal) => {
    const [{ historyScreen }, { takenAt }, { looksThere }] = await loaded(
      Promise.all([import("./history-screen.ts"), import("./history.ts"), import("./history-there.ts")]),
    );
    const readings = await kept.newestReadings();
    signal.throwIfAborted();
    const here = readings.map(({ photo: { id, keptAt }, made: { reading, request } }) => {
      return { id, at: takenAt(reading, keptAt), reading, asked: request, isHere: true };
    });
    const asking = looksThere(new Set(here.map(({ id }) => id)), signal);
    asking.catch(() => {}); // the screen tells
    return () => historyScreen(here, asking, { open: openPhoto, close });
  };

  // Runs: what is written down of them is kept here first, and sent as photos are

  let runKeeper: ReturnType<typeof openRunKeeper> | null = null;
  let runsShown: import("./run-page.ts").RunScreen | null = null;
  async function openRunKeeper() {
    const [{ openKeptRuns }, { openRunSender }] = await Promise.all([
      import("./run-kept.ts"),
      import("./run-sending.ts"),
    ]);
    const keptRuns = await openKeptRuns(() => runsShown?.refresh());
    return { keptRuns, runSender: openRunSender(keptRuns, kept) };
  }
  const getRunKeeper = () => {
    runKeeper ??= openRunKeeper().catch((error: unknown) => {
      runKeeper = null; // its script comes with the next try
      throw error;
    });
    return runKeeper;
  };
  const runs = async () => {
    const [{ runScreen }, { keptRuns, runSender }] = await loaded(
      Promise.all([import("./run-page.ts"), getRunKeeper()]),
    );
    keepEntry(RUNS_OPENED, "yes");
    return () => {
      runsShown = runScreen(keptRuns, runSender, close, tellAlarms);
      return runsShown.element;
    };
  };

  // Alarms, where this device is to be told of them

  let hushAlarms: Promise<() => void> | null = null;
  function tellAlarms(wanted: boolean): void {
    void hushAlarms?.then((hush) => hush());
    hushAlarms = wanted
      ? import("./alarm-notice.ts").then(({ noticeAlarms }) => noticeAlarms(() => open("runs")))
      : null;
    hushAlarms?.catch((error: unknown) => console.info(error)); // with the next visit
  }
  /** What was asked for before holds: the notice, and the browser's subscription, which may have run out. */
  async function tellAlarmsAgain(): Promise<void> {
    const { alarmsWanted, alarmWay } = await import("./alarm-push.ts");
    tellAlarms(alarmsWanted() && (await alarmWay()) !== "none");
  }
  if ("serviceWorker" in navigator) {
    navigator.serviceWorker.addEventListener("message", ({ data }) => {
      if (data === "open runs") open("runs");
    });
  }

  function open(name: PageName): void {
    if (name === "set-up") opened("setup", setUp);
    else if (name === "runs") opened("runs", runs);
    else if (name === "history") opened("history", history);
    else if (name === "deck") opened("deck", deck);
    else opened("far", () => far(name));
  }

  return {
    open,
    element: () => element(),
    /** Photos that arrived may belong to a run. */
    sendRuns: () => void runKeeper?.then(({ runSender }) => runSender.wake()).catch(() => {}),
    /** What an earlier visit left to be done. */
    takeUp() {
      // who never opened the runs has nothing of them to send
      if (keptEntries()[RUNS_OPENED]) {
        void getRunKeeper().then(
          ({ runSender }) => runSender.wake(),
          () => {},
        );
      }
      if (location.hash === "#runs") open("runs");
      if (keptEntries()[ALARMS_WANTED]) void tellAlarmsAgain().catch((error: unknown) => console.info(error));
    },
  };
}
