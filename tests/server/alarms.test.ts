import { createDecipheriv, createECDH, hkdfSync } from "node:crypto";
import { afterAll, beforeAll, beforeEach, describe, expect, it } from "vitest";
import type { PushRequest } from "../../server/alarms/web-push.ts";
import { Reader } from "../../server/reader.ts";
import { newId } from "../../server/storage/naming.ts";
import * as contract from "../../vision/contract/index.ts";
import { randomFrom } from "../../vision/scene/random.ts";
import { quietDeck, readingOf } from "../vision/accounts/deck-readings.ts";
import { gaussFrom } from "../vision/accounts/gauss.ts";
import { keepRows } from "./kept-readings.ts";
import { MOODY, problemOf, type Serving, serving, until } from "./serving.ts";

/** Alarms are told once: to devices that asked, to open pages, at the review desk. */

let app: Serving;
let deck: string;
let status: number | null = 201;
const sent: PushRequest[] = [];
const name = (i: number) => i.toString(16).padStart(64, "0");
const at = (i: number) => new Date(Date.UTC(2031, 4, 4, 6, 10 * i)).toISOString().slice(0, 19);
const DECK = { schemaVersion: 1 as const, lengthMm: 1830, widthMm: 910 };
const quiet = quietDeck(gaussFrom(randomFrom(33)));
const keep = (i: number, off = (k: number) => (k >= 60 ? 70 : 0)) =>
  keepRows(
    app.parts,
    { id: name(i + 1), name: `${i}.jpg`, takenAt: at(i) },
    { id: name(1000 + i), deck, reading: readingOf(quiet(i, off)) },
  );

/** A browser's side of a subscription, with the key that opens what it is sent. */
function browser(path: string) {
  const pair = createECDH("prime256v1");
  pair.generateKeys();
  const [p256dh, auth] = [pair.getPublicKey("base64url"), Buffer.alloc(16, 7).toString("base64url")];
  const open = ({ body }: PushRequest): { title: string; body: string; language: string } => {
    const bytes = Buffer.from(body);
    const sender = bytes.subarray(21, 86);
    const info = Buffer.concat([Buffer.from("WebPush: info\0"), pair.getPublicKey(), sender]);
    const secret = Buffer.from(hkdfSync("sha256", pair.computeSecret(sender), Buffer.alloc(16, 7), info, 32));
    const key = Buffer.from(hkdfSync("sha256", secret, bytes.subarray(0, 16), "Content-Encoding: aes128gcm\0", 16));
    const nonce = Buffer.from(hkdfSync("sha256", secret, bytes.subarray(0, 16), "Content-Encoding: nonce\0", 12));
    const opener = createDecipheriv("aes-128-gcm", key, nonce);
    opener.setAuthTag(bytes.subarray(-16));
    const plain = Buffer.concat([opener.update(bytes.subarray(86, -16)), opener.final()]);
    return JSON.parse(plain.subarray(0, -1).toString());
  };
  return { open, ask: { endpoint: `https://push.example.net/${path}`, keys: { p256dh, auth }, language: "en" } };
}
const subscribe = async (ask: object) => contract.Push.parse(await (await app.ask("POST", "/api/pushes", ask)).json());

beforeAll(async () => {
  const post = async (request: PushRequest) => {
    sent.push(request);
    return status;
  };
  app = await serving({ reader: new Reader({ entry: MOODY }), post, alarmsTogetherMs: 30 });
  ({ id: deck } = await (await app.ask("POST", "/api/decks", { name: "North", file: DECK })).json());
  for (let i = 0; i < 64; i++) await keep(i);
});
afterAll(() => app.close());
beforeEach(() => {
  sent.length = 0;
  status = 201;
});
const heard = (i: number) => app.parts.watcher.heard(app.parts.data.local.site, name(1000 + i));
const forget = () => app.parts.data.db.deleteFrom("alarms_told").execute();

describe("a new alarm", () => {
  it("reaches a device in its language, sealed for it, with the likely cause; and it does so once", async () => {
    const [phone, other] = [browser("phone"), browser("other")];
    const first = await subscribe({ ...phone.ask, language: "es" });
    const second = await subscribe({ ...other.ask, language: "sw" });
    heard(63);
    await until(async () => sent.length === 2);
    const to = (path: string) => sent.find(({ url }) => url.endsWith(path))!;
    const spanish = phone.open(to("phone"));
    expect(spanish).toMatchObject({ language: "es", title: expect.stringMatching(/^North: .*desde/) });
    expect(spanish.body).toMatch(/denso.*\+7\d.*agua de lavado.*práctica común/);
    expect(other.open(to("other")).body).toContain("maji ya kuoshea");
    expect(() => other.open(to("phone"))).toThrow(); // only the one it is sealed for can read it
    expect(to("phone").headers.Authorization).toContain((await (await app.get("/api/push-key")).json()).publicKey);
    await keep(64);
    heard(64);
    await new Promise((later) => setTimeout(later, 200));
    expect(sent).toHaveLength(2);
    for (const { id } of [first, second]) expect((await app.ask("DELETE", `/api/pushes/${id}`)).status).toBe(204);
  });

  it("reaches no device that was withdrawn, from that moment on", async () => {
    await forget();
    const { id } = await subscribe(browser("gone").ask);
    expect(contract.PushList.parse(await (await app.get("/api/pushes")).json()).items).toHaveLength(1);
    expect((await app.ask("DELETE", `/api/pushes/${id}`)).status).toBe(204);
    await problemOf(await app.ask("DELETE", `/api/pushes/${id}`), 404, "not-found");
    heard(64);
    await new Promise((later) => setTimeout(later, 200));
    expect(sent).toHaveLength(0);
  });

  it("ends a subscription that the push service has ended", async () => {
    await forget();
    await subscribe(browser("ended").ask);
    status = 410;
    heard(64);
    await until(async () => contract.PushList.parse(await (await app.get("/api/pushes")).json()).items.length === 0);
    expect(sent).toHaveLength(1);
  });

  it("is told to pages that are open, as it comes", async () => {
    await forget();
    const stop = new AbortController();
    const answer = await fetch(`${app.at}/api/alarms/events`, { signal: stop.signal });
    expect(answer.headers.get("Content-Type")).toContain("text/event-stream");
    const reader = answer.body!.pipeThrough(new TextDecoderStream()).getReader();
    heard(64);
    let text = "";
    while (!text.includes("\n\n")) text += (await reader.read()).value ?? "";
    expect(text).toMatch(/^event: alarm\ndata: /);
    const alarm = contract.Alarm.parse(JSON.parse(text.split("data: ")[1]!.split("\n")[0]!));
    expect(alarm).toMatchObject({
      deck,
      deckName: "North",
      event: { kind: "step", cause: { told: { code: "cause.down" } } },
    });
    stop.abort();
  });

  it("stands in the review queue with its likely cause, in words that the page has", async () => {
    const { items } = contract.ReviewQueue.parse(await (await app.get("/api/review-queue")).json());
    const reasons = items.flatMap(({ reasons: all }) => all.filter(({ kind }) => kind === "alarm"));
    expect(reasons.length).toBeGreaterThan(0);
    expect(reasons[0]).toMatchObject({ weight: 2, cause: { code: "cause.down" } });
  });

  it("is no news when its photos are old", async () => {
    await forget();
    const { id: old } = await (await app.ask("POST", "/api/decks", { name: "Old", file: DECK })).json();
    for (let i = 0; i < 64; i++) {
      const photo = { id: name(3000 + i), name: `old ${i}.jpg`, takenAt: at(i).replace("2031", "2011") };
      await keepRows(app.parts, photo, {
        id: name(4000 + i),
        deck: old,
        reading: readingOf(quiet(i, (k) => (k >= 60 ? 70 : 0))),
      });
    }
    await subscribe(browser("old").ask);
    app.parts.watcher.heard(app.parts.data.local.site, name(4063));
    await new Promise((later) => setTimeout(later, 300));
    expect(sent).toHaveLength(0);
  });
});

describe("the list of alarms", () => {
  const list = async () => contract.AlarmList.parse(await (await app.get("/api/alarms")).json()).items;

  it("is the same when asked again, and new as soon as something is: a photo, or what was written down", async () => {
    const first = (await list()).filter((alarm) => alarm.deck === deck);
    expect(first[0]).toMatchObject({ deckName: "North", event: { cause: { kind: "common practice" } } });
    expect((await list()).filter((alarm) => alarm.deck === deck)).toEqual(first);
    const { id: run } = await (
      await app.ask("POST", "/api/runs", { name: "Morning", deck, startedAt: "2031-05-04T06:00:00.000Z" })
    ).json();
    const change = {
      control: "wash water",
      target: "",
      figure: { value: 18, error: null },
      at: at(59).slice(0, 16),
      who: "Ama",
      note: "",
    };
    await app.ask("POST", `/api/runs/${run}/entries`, { entry: { kind: "change", change } });
    const again = (await list()).filter((alarm) => alarm.deck === deck);
    expect(again[0]).toMatchObject({ event: { cause: { kind: "written down", told: { values: { who: "Ama" } } } } });
  });

  it("of another site is not told here", async () => {
    const made = await app.ask("POST", "/api/sites", { name: "Elsewhere" });
    const { id } = contract.Site.parse(await made.json());
    const other = { site: id, person: app.parts.data.local.person };
    expect(await app.parts.deckAlarms.ofSite(other)).toEqual([]);
    expect(await app.parts.data.readings.deckOf(other, name(1001))).toBeNull();
    expect(await app.parts.data.pushes.ofSite(id)).toEqual([]);
  });
});

describe("a subscription", () => {
  it.each([
    ["no https", { endpoint: "http://push.example.net/a" }],
    ["this server's own network", { endpoint: "https://127.0.0.1/a" }],
    ["a name that is no public one", { endpoint: "https://printer.local/a" }],
    ["a key that is no point", { keys: { p256dh: "A".repeat(87), auth: "A".repeat(22) } }],
    ["a secret too short", { keys: { ...browser("x").ask.keys, auth: "AAAA" } }],
    ["no language", { language: "" }],
  ])("is refused with %s", async (_, wrong) => {
    await problemOf(await app.ask("POST", "/api/pushes", { ...browser("y").ask, ...wrong }), 400, "body-wrong");
  });

  it("asked for again is the same one, in its new language; a person has a few at most", async () => {
    const mine = browser("again");
    const first = await subscribe(mine.ask);
    const again = await subscribe({ ...mine.ask, language: "fr" });
    expect(again).toEqual({ ...first, language: "fr" });
    for (let i = 0; i < 30; i++) await app.ask("POST", "/api/pushes", browser(`many${i}`).ask);
    await problemOf(await app.ask("POST", "/api/pushes", browser("one more").ask), 400, "body-wrong");
    await problemOf(await app.ask("DELETE", `/api/pushes/${newId()}`), 404, "not-found");
  });
});
