import { z } from "zod";
import { AccountsError, accountFor, type RunAccounts, tellBalance, writeBalance } from "../../vision/accounts/index.ts";
import { Id, RunBalance } from "../../vision/contract/index.ts";
import { type Endpoint, endpoint } from "../endpoint.ts";
import type { Parts } from "../parts.ts";
import { RequestError } from "../problems.ts";
import type { Caller } from "../storage/caller.ts";

const At = z.object({ id: Id });

/** What runs add up to. */
export function runAccountRoutes({ data }: Parts): Endpoint[] {
  const account = async (caller: Caller, id: string): Promise<RunAccounts> => {
    const { record } = await data.runLogs.record(caller, id);
    try {
      return accountFor(record);
    } catch (error) {
      if (error instanceof AccountsError) throw new RequestError("not-enough", error.message);
      throw error;
    }
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
  ];
}
