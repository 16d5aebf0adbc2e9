import type { Drift, Expected, RunBalance, RunEntry, RunSplitters } from "../vision/contract/index.ts";
import { alarmWay, wantAlarms, withdrawAlarms } from "./alarm-push.ts";
import { button, el, folded } from "./element.ts";
import { alarmChoice } from "./parts/alarm-choice.ts";
import { runAlarm } from "./parts/run-alarm.ts";
import { runBalance } from "./parts/run-balance.ts";
import { runCharts } from "./parts/run-charts.ts";
import { runChooser } from "./parts/run-chooser.ts";
import { runEntry } from "./parts/run-entry.ts";
import { runFiles } from "./parts/run-files.ts";
import { type LogLine, runLog } from "./parts/run-log.ts";
import { runMoney } from "./parts/run-money.ts";
import { runPlan } from "./parts/run-plan.ts";
import {
  balanceOf,
  driftOf,
  expectedOf,
  jobOf,
  keptDecks,
  labelsOf,
  makeReport,
  newestRuns,
  planOf,
  reportUrl,
  sheetUrl,
  splittersOf,
  takeSheet,
  writtenDown,
} from "./run-api.ts";
import type { KeptRun, KeptRuns } from "./run-kept.ts";
import type { RunSender } from "./run-sending.ts";
import { newsOf, type Said } from "./run-words.ts";
import { saveFile } from "./save-file.ts";
import { troubleOf } from "./trouble.ts";
import { currentLanguage, say } from "./words.ts";

/** Between two looks at a report that is being made, ms. */
const REPORT_MS = 700;

/** What the server tells of a run, as far as it was reached. */
interface Told {
  readonly log: readonly LogLine[] | null;
  readonly balance: RunBalance | null;
  readonly expected: Expected | null;
  readonly splitters: RunSplitters | null;
  readonly drift: Drift | null;
  /** Why there is no balance, and why there are no charts. */
  readonly noBalance: Said;
  readonly noSplitters: Said;
  readonly noCharts: Said;
}
export interface RunScreen {
  readonly element: HTMLElement;
  /** What this device keeps of runs has changed. */
  readonly refresh: () => void;
}
const untold = (): Told => ({
  log: null,
  balance: null,
  expected: null,
  splitters: null,
  drift: null,
  noBalance: { say: say("run.needsServer"), foreign: false },
  noSplitters: { say: say("run.needsServer"), foreign: false },
  noCharts: { say: say("run.needsServer"), foreign: false },
});

/** Runs at the table. Loaded when it is first opened; what is written down is kept here first and sent when it can be. */
/** @param alarmed  Hears whether this device is to be told of alarms. */
export function runScreen(
  kept: KeptRuns,
  sender: RunSender,
  close: () => void,
  alarmed: (wanted: boolean) => void,
): RunScreen {
  let runs: readonly KeptRun[] = [];
  let chosen: string | null = null;
  let decks: readonly { id: string; name: string }[] = [];
  let told: Told = untold();
  let news: Said | null = null;
  let report: string | null = null;
  const current = () => runs.find(({ id }) => id === chosen) ?? runs.find(({ mine }) => mine) ?? null;

  const chooser = runChooser({
    start: ({ name, material, deck }) => void start(name, material, deck),
    show: (id) => void choose(id),
    end: () => void end(),
  });
  const log = runLog((line) => void withdraw(line));
  const entry = runEntry(
    (written) => void write(written, null),
    (kind, stream) => {
      const alike = lines.filter(
        ({ entry: e }) => e.kind === "sample" && e.sample.kind === kind && e.sample.stream === stream,
      );
      return String(alike.length + 1);
    },
  );
  const plan = runPlan({
    plan: planOf,
    labels: async (aim) => saveFile(await labelsOf(aim, currentLanguage()), "labels.html"),
    run: () => current()?.name ?? "",
  });
  const balance = runBalance();
  const money = runMoney((entries) => void writeAll(entries));
  const charts = runCharts();
  const choice = alarmChoice({
    want: () =>
      void wantAlarms()
        .then(choice.update)
        .then(() => alarmed(true)),
    withdraw: () => {
      choice.update("none");
      alarmed(false);
      void withdrawAlarms();
    },
  });
  void alarmWay().then(choice.update);
  const files = runFiles({ take: (file) => void take(file), report: () => void tell() });
  let lines: readonly LogLine[] = [];
  const alarm = runAlarm(() => {
    const charted = element.querySelector<HTMLDetailsElement>("#run-charts")!;
    charted.open = true;
    charted.querySelector("summary")!.focus();
    charted.scrollIntoView();
  });

  async function start(name: string, material: string, deck: string | null) {
    const run = { id: crypto.randomUUID(), name, material, deck, startedAt: new Date().toISOString(), endedAt: null };
    await kept.putRun({ ...run, there: null, mine: true, state: "waits" });
    chooser.began();
    await choose(run.id);
    await sender.wake();
    await askServer();
  }
  async function choose(id: string) {
    [chosen, told, news, report] = [id, untold(), null, null];
    await refresh();
    await askServer();
  }
  async function end() {
    const run = current();
    if (run) await kept.putRun({ ...run, endedAt: new Date().toISOString(), state: "waits" });
    await sender.wake();
  }
  const write = (written: RunEntry | null, replaces: string | null) => writeAll([written], replaces);
  async function writeAll(all: readonly (RunEntry | null)[], replaces: string | null = null) {
    const run = current();
    if (!run) return;
    if (!run.mine) await kept.putRun({ ...run, mine: true });
    const way = { there: null, state: "waits", problem: null } as const;
    for (const [i, entry] of all.entries()) {
      const id = crypto.randomUUID();
      await kept.putEntry({ id, run: run.id, at: Date.now() + i, entry, replaces, ...way });
    }
    await sender.wake();
    await askServer();
  }
  async function withdraw(line: LogLine) {
    if (line.state === "sent") return write(null, line.id);
    await kept.dropEntry(line.id);
  }
  async function take(file: File) {
    const run = current();
    if (!run?.there) return;
    const told = await takeSheet(run.there, file).then(
      ({ samples, streams }) => ({ say: say("run.sheet.taken", { samples, streams }), foreign: false }),
      newsOf,
    );
    if (run.id === current()?.id) news = told; // another run may be shown by now
    await askServer();
  }
  async function tell() {
    const run = current();
    if (!run?.there) return;
    [news, report] = [{ say: say("run.report.working"), foreign: false }, null];
    show();
    try {
      const id = await makeReport(run.there, currentLanguage());
      for (;;) {
        const job = await jobOf(id);
        if (job.state === "done") break;
        if (job.state !== "waiting" && job.state !== "working") {
          throw job.problem ? troubleOf(job.problem.code, job.problem.detail) : troubleOf("internal");
        }
        await new Promise((later) => setTimeout(later, REPORT_MS));
      }
      if (run.id === current()?.id) [news, report] = [null, id]; // another run may be shown by now
    } catch (error) {
      if (run.id === current()?.id) news = newsOf(error);
    }
    show();
  }

  /** What this device keeps. */
  async function refresh() {
    runs = await kept.runs();
    const run = current();
    const own = run ? await kept.entriesOf(run.id) : [];
    const mine = own.flatMap(({ id, there, entry: written, state, problem }): LogLine[] =>
      written ? [{ id: there ?? id, entry: written, state, problem }] : [],
    );
    const gone = new Set(own.flatMap(({ replaces, state }) => (replaces && state !== "refused" ? [replaces] : [])));
    const fromServer = told.log ?? mine.filter(({ state }) => state === "sent").toReversed();
    const others = mine.filter(({ state }) => state !== "sent").toReversed();
    lines = [...others, ...fromServer].filter(({ id }) => !gone.has(id));
    const waits = own.filter(({ state }) => state === "waits").length;
    chooser.update(
      runs.map((one) => ({ ...one, waits: 0 })),
      run && { ...run, waits },
      decks,
    );
    show();
  }
  function show() {
    const run = current();
    log.update(lines);
    balance.update(told.balance, told.noBalance, told.expected);
    money.update(told.splitters, told.noSplitters, lines);
    charts.update(told.drift, told.noCharts);
    alarm.update(told.drift);
    const there = run?.there ?? null;
    files.update(
      there === null ? null : { csv: sheetUrl(there, "csv"), xlsx: sheetUrl(there, "xlsx") },
      news,
      report === null
        ? null
        : {
            page: reportUrl(report, ""),
            pdf: reportUrl(report, "/report.pdf"),
            data: reportUrl(report, "/data.zip"),
          },
    );
    for (const part of [entry.element, ...results]) part.hidden = run === null;
  }

  /** What the server tells; what it does not is left as it is. */
  async function askServer() {
    const run = current();
    const asked = run?.id;
    const [found, ofServer] = await Promise.all([keptDecks().catch(() => decks), newestRuns().catch(() => [])]);
    decks = found;
    for (const other of ofServer) {
      const { id, name, material, deck, startedAt, endedAt } = other;
      const known = runs.find((one) => one.there === id);
      // somebody else may have ended it
      if (known?.state === "sent" && known.endedAt !== endedAt) await kept.putRun({ ...known, endedAt });
      if (known) continue;
      await kept.putRun({
        id,
        name,
        material: material ?? "",
        deck,
        startedAt,
        endedAt,
        there: id,
        mine: false,
        state: "sent",
      });
    }
    const there = run?.there;
    if (there) {
      const next = await askAll(there, run.deck);
      if (asked !== current()?.id) return;
      told = next;
    }
    await refresh();
  }

  const results = [
    folded(say("run.plan.title"), { class: "card", id: "run-plan" }, plan),
    folded(say("run.log"), { class: "card", id: "run-log" }, log.element),
    folded(say("run.balance"), { class: "card", id: "run-balance" }, balance.element),
    folded(say("run.money"), { class: "card", id: "run-money" }, money.element),
    folded(say("run.charts"), { class: "card", id: "run-charts" }, choice.element, charts.element),
    folded(say("run.files"), { class: "card", id: "run-files" }, files.element),
  ];
  const element = el(
    "div",
    { class: "step runs" },
    el("section", { class: "card" }, el("h1", { tabindex: -1 }, say("run.title")), el("p", {}, say("run.what"))),
    el("div", {}, alarm.element, chooser.element, entry.element),
    el("div", {}, ...results),
    el(
      "div",
      { class: "choices" },
      button(say("run.refresh"), () => void sender.wake().then(askServer), { class: "quiet" }),
      button(say("setup.close"), close, { class: "quiet" }),
    ),
  );
  void refresh().then(askServer);
  return { element, refresh: () => void refresh() };
}

async function askAll(run: string, deck: string | null): Promise<Told> {
  const [log, balance, expected, splitters, drift] = await Promise.allSettled([
    writtenDown(run),
    balanceOf(run),
    expectedOf(run),
    splittersOf(run),
    driftOf(run, deck),
  ]);
  const { noBalance, noSplitters, noCharts } = untold();
  return {
    log:
      log.status === "fulfilled"
        ? log.value.flatMap(({ id, entry, replacedBy }) =>
            entry && replacedBy === null ? [{ id, entry, state: "sent" as const, problem: null }] : [],
          )
        : null,
    balance: balance.status === "fulfilled" ? balance.value : null,
    expected: expected.status === "fulfilled" ? expected.value : null,
    splitters: splitters.status === "fulfilled" ? splitters.value : null,
    drift: drift.status === "fulfilled" ? drift.value : null,
    noBalance: balance.status === "rejected" ? newsOf(balance.reason) : noBalance,
    noSplitters: splitters.status === "rejected" ? newsOf(splitters.reason) : noSplitters,
    noCharts: drift.status === "rejected" ? newsOf(drift.reason) : noCharts,
  };
}
