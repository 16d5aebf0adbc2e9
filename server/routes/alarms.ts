import { createECDH } from "node:crypto";
import { z } from "zod";
import { type Alarm, AlarmList, Id, NewPush, Push, PushKey, PushList } from "../../vision/contract/index.ts";
import { mayBePushService } from "../alarms/post.ts";
import { type Endpoint, endpoint } from "../endpoint.ts";
import type { Parts } from "../parts.ts";
import { RequestError } from "../problems.ts";
import { askOf, PageQuery } from "../storage/pages.ts";

/** Between two signs of life on a quiet event stream, so that proxies keep it open. */
const HEARTBEAT_MS = 15_000;

/** Alarms of a site's decks, and who is told of them. */
export function alarmRoutes({ data, deckAlarms, watcher, senderKey, stopping }: Parts): Endpoint[] {
  return [
    endpoint(
      {
        method: "get",
        path: "/api/alarms",
        right: "see",
        says: "What moved lately on the site's decks, the latest first",
        answer: AlarmList,
      },
      async ({ caller }) => ({ items: await deckAlarms.ofSite(caller) }),
    ),
    endpoint(
      {
        method: "get",
        path: "/api/alarms/events",
        right: "see",
        says: "New alarms of the site's decks as they come: events `alarm`",
        answerType: "text/event-stream",
      },
      async ({ caller, res }) => {
        res.set({ "Content-Type": "text/event-stream", "X-Accel-Buffering": "no" });
        res.flushHeaders();
        const hear = (alarm: Alarm) => res.write(`event: alarm\ndata: ${JSON.stringify(alarm)}\n\n`);
        const stop = watcher.listen(caller.site, hear);
        const alive = setInterval(() => res.write(": still here\n\n"), HEARTBEAT_MS);
        const end = () => res.end();
        stopping.addEventListener("abort", end, { once: true });
        res.on("close", () => {
          clearInterval(alive);
          stop();
          stopping.removeEventListener("abort", end);
        });
      },
    ),
    endpoint(
      {
        method: "get",
        path: "/api/push-key",
        right: "see",
        says: "The key that browsers subscribe with, to be told of alarms",
        answer: PushKey,
      },
      async () => ({ publicKey: (await senderKey()).publicKey }),
    ),
    endpoint(
      {
        method: "post",
        path: "/api/pushes",
        right: "work",
        says: "Have this device told of alarms while its page is closed; asked again, only its language changes",
        body: NewPush,
        answer: Push,
        status: 201,
      },
      async ({ caller, body, newId }) => {
        if (!mayBePushService(body.endpoint) || !isPoint(body.keys.p256dh)) {
          throw new RequestError("body-wrong", "This is no push subscription of a browser. Ask the browser for one.");
        }
        return data.pushes.add(caller, body, newId());
      },
    ),
    endpoint(
      {
        method: "get",
        path: "/api/pushes",
        right: "see",
        says: "Your devices that are told of alarms",
        query: PageQuery,
        answer: PushList,
      },
      ({ caller, query }) => data.pushes.list(caller, askOf(query)),
    ),
    endpoint(
      {
        method: "delete",
        path: "/api/pushes/:id",
        right: "work",
        says: "Tell your device no more, from now on",
        params: z.object({ id: Id }),
        status: 204,
      },
      ({ caller, params }) => data.pushes.withdraw(caller, params.id),
    ),
  ];
}

/** Whether this is a point of the curve, so that a message can be sealed for it. */
function isPoint(p256dh: string): boolean {
  try {
    const pair = createECDH("prime256v1");
    pair.generateKeys();
    pair.computeSecret(Buffer.from(p256dh, "base64url"));
    return true;
  } catch {
    return false;
  }
}
