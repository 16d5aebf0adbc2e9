import { z } from "zod";
import {
  AccountsError,
  accountFor,
  expectedOf,
  type RunAccounts,
  type SeenRun,
  samplingOfRun,
  tellBalance,
  writeBalance,
} from "../../vision/accounts/index.ts";
import {
  ContentId,
  Expected,
  Id,
  RunBalance,
  RunSplitters,
  SamplingAim,
  SamplingPlans,
} from "../../vision/contract/index.ts";
import { inEnglish, said } from "../../vision/index.ts";
import { type Endpoint, endpoint } from "../endpoint.ts";
import { labelPage, labelsOf } from "../labels.ts";
import type { Parts } from "../parts.ts";
import { RequestError } from "../problems.ts";
import { splittersFor } from "../run-money.ts";
import { languageAsked, speechIn } from "../speech.ts";
import type { Caller } from "../storage/caller.ts";

const At = z.object({ id: Id });
/** Runs of a deck, the latest, that teach what photos tell; and photos of each. */
const MOST_RUNS = 60;
const MOST_PHOTOS = 30;

/** What runs add up to. */
export function runAccountRoutes({ data }: Parts): Endpoint[] {
  const account = async (caller: Caller, id: string): Promise<RunAccounts> => {
    const { record } = await data.runLogs.record(caller, id);
    try {
      return accountFor(record);
    } catch (error) {
      if (error instanceof AccountsError) throw new RequestError("not-enough", error.message, undefined, error.said);
      throw error;
    }
  };
  const seenRun = async (caller: Caller, id: string): Promise<SeenRun> => ({
    id,
    record: (await data.runLogs.record(caller, id)).record,
    readings: await data.readings.ofRun(caller, id, MOST_PHOTOS),
  });
  const seenRuns = async (caller: Caller, deck: string | null): Promise<SeenRun[]> => {
    const all: SeenRun[] = [];
    for (const { id } of await data.runs.ofDeck(caller, deck, MOST_RUNS)) all.push(await seenRun(caller, id));
    return all;
  };
  return [
    endpoint(
      {
        method: "get",
        path: "/api/runs/:id/balance",
        right: "see",
        says: "What a run adds up to: balance, products, water, middling and hand checks, each figure with its error",
        params: At,
        answer: RunBalance,
      },
      async ({ caller, params }) => tellBalance(await account(caller, params.id)),
    ),
    endpoint(
      {
        method: "get",
        path: "/api/runs/:id/balance.csv",
        right: "see",
        says: "A run's figures, given and balanced, as CSV",
        params: At,
        answerType: "text/csv",
      },
      async ({ caller, params, res }) => {
        const told = writeBalance(await account(caller, params.id));
        res.set({ "Content-Type": "text/csv; charset=utf-8", "Content-Disposition": "attachment" }).send(told);
      },
    ),
    endpoint(
      {
        method: "get",
        path: "/api/runs/:id/splitters",
        right: "see",
        says: "Where the splitters bring most money by a run's photos, balance and prices, and how much more, with its interval",
        params: At,
        answer: RunSplitters,
      },
      async ({ caller, params }) => splittersFor(data, caller, params.id),
    ),
    endpoint(
      {
        method: "post",
        path: "/api/sampling-plan",
        right: "see",
        says: "How much to sample for a stated error, in how many cuts; nothing is kept",
        body: SamplingAim,
        answer: SamplingPlans,
      },
      async ({ body }) => planOf(body),
    ),
    endpoint(
      {
        method: "post",
        path: "/api/sampling-plan/labels.html",
        right: "see",
        says: "The labels of such a plan, one a cut, as a page to print, in the language asked for by Accept-Language",
        body: SamplingAim,
        answerType: "text/html",
      },
      async ({ body, req, res }) => {
        const page = labelPage(labelsOf(body, planOf(body)), speechIn(languageAsked(req.get("Accept-Language"))));
        res.set("Content-Disposition", 'attachment; filename="labels.html"').type("html").send(page);
      },
    ),
    endpoint(
      {
        method: "get",
        path: "/api/readings/:id/expected",
        right: "see",
        says: "Grade and recovery to expect of each launder, by runs of the material on the deck that have photos and assays",
        params: z.object({ id: ContentId }),
        answer: Expected,
      },
      async ({ caller, params }) => {
        const reading = await data.readings.one(caller, params.id);
        const { row } = await data.readings.asked(caller, params.id);
        if (row.run_id === null) {
          const first = said("said.runs.whichRun");
          throw new RequestError("not-enough", inEnglish(first), undefined, first);
        }
        const { deck } = await data.runs.one(caller, row.run_id);
        const runs = await seenRuns(caller, deck ?? row.deck_id);
        const of = runs.find(({ id }) => id === row.run_id) ?? (await seenRun(caller, row.run_id));
        return { reading: params.id, ...expectedOf(reading, of, runs) };
      },
    ),
  ];
}

/** @throws {RequestError} `body-wrong` for an aim that no plan meets. */
function planOf(aim: SamplingAim): SamplingPlans {
  try {
    return samplingOfRun(aim);
  } catch (error) {
    if (error instanceof AccountsError)
      throw new RequestError("body-wrong", `No plan can be made. ${error.message}`, undefined, error.said);
    throw error;
  }
}
