import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { endpointsOf } from "../../server/app.ts";
import type { Endpoint } from "../../server/endpoint.ts";
import { mayDo } from "../../server/people/rights.ts";
import { Reader } from "../../server/reader.ts";
import { speechIn } from "../../server/speech.ts";
import { newId, now } from "../../server/storage/naming.ts";
import { ROLES, type Role } from "../../server/storage/tables.ts";
import * as contract from "../../vision/contract/index.ts";
import { MOODY, photoNo, problemOf, SAMPLES, type Serving, serving } from "./serving.ts";

const PHRASE = "wet sand on a slow deck";
const DECK = { schemaVersion: 1 as const, lengthMm: 1830, widthMm: 910 };
let app: Serving;
let endpoints: Endpoint[];
/** What each role sends to be known: the cookie of a log-in; and the same for the owner of another site. */
const cookies = {} as Record<Role | "elsewhere", string>;
/** Ids of things in the first site. */
const ids: Record<string, string> = {};

beforeAll(async () => {
  app = await serving({ logIn: true, reader: new Reader({ entry: MOODY }), limits: { reads: 1e6, writes: 1e6 } });
  endpoints = endpointsOf(app.parts, { page: "", samples: SAMPLES });
  const { members, data } = app.parts;
  for (const role of ROLES)
    cookies[role] = await join((await members.invite(data.local, role, 1)).token, `${role}@deck.example`);
  const site = newId();
  await data.db.insertInto("sites").values({ id: site, name: "Elsewhere", made_at: now() }).execute();
  const { token } = await members.invite({ ...data.local, site }, "owner", 1);
  cookies.elsewhere = await join(token, "elsewhere@deck.example");
  await fillSite();
});
afterAll(() => app.close());

const form = (path: string, fields: Record<string, string>) =>
  fetch(app.at + path, { method: "POST", body: new URLSearchParams(fields), redirect: "manual" });

/** Come in by an invitation, as the form does. @returns the cookie that was set. */
async function join(token: string, email: string): Promise<string> {
  const answer = await form(`/join/${token}`, { name: email.split("@")[0]!, email, phrase: PHRASE });
  expect(answer.status).toBe(303);
  return answer.headers
    .getSetCookie()
    .map((cookie) => cookie.split(";")[0])
    .join("; ");
}

const as = (who: keyof typeof cookies) => ({ Cookie: cookies[who] });

/** One of everything, made by the owner. */
async function fillSite(): Promise<void> {
  const make = async (path: string, body: object) => {
    const answer = await app.ask("POST", path, body, as("owner"));
    expect(answer.ok, path).toBe(true);
    return ((await answer.json()) as { id: string }).id;
  };
  const sent = await app.send(await photoNo(1), as("owner"));
  ids.photos = ((await sent.json()) as { id: string }).id;
  ids.readings = await make("/api/readings", { photo: ids.photos });
  await (await app.get(`/api/readings/${ids.readings}/events`, as("owner"))).text();
  ids.jobs = ids.readings;
  ids.decks = await make("/api/decks", { name: "North", file: DECK });
  ids.runs = await make("/api/runs", { name: "Morning", deck: ids.decks });
  ids.reports = await make(`/api/runs/${ids.runs}/reports`, {});
  ids.devices = await make("/api/devices", { name: "Phone" });
  ids.invitations = await make("/api/invitations", { role: "operator" });
  ids.shares = await make(`/api/readings/${ids.readings}/shares`, {});
  ids.people = app.parts.data.local.person;
  ids.sites = app.parts.data.local.site;
}

/** A request to an address that names things of the first site, and changes nothing where it can be helped. */
function asked({ method, path, body, query }: Endpoint, headers: Record<string, string>) {
  const noun = path.split("/")[2] ?? "";
  const filled = path
    .replace(":id", ids[noun] ?? newId())
    .replace(":token", "x".repeat(43))
    .replace(":file", "black-sand.jpg");
  const since = query && path.endsWith("/moved") ? `?since=${ids.readings}` : "";
  return app.ask(method.toUpperCase(), filled + since, body ? {} : undefined, headers);
}

/** What was answered; of a stream of events that never ends, nothing. */
async function textOf(answer: Response): Promise<string> {
  if (!answer.url.endsWith("/api/alarms/events") || !answer.ok) return answer.text();
  await answer.body?.cancel();
  return "";
}

describe("every address of the API", () => {
  it("lets a stranger see nothing of any site, nor change it", async () => {
    for (const each of endpoints) {
      for (const headers of [
        {},
        { Authorization: `Bearer ${"x".repeat(43)}` },
        { Cookie: "deckbands.session_token=x.y" },
      ]) {
        const answer = await asked(each, headers as Record<string, string>);
        const told = `${each.method} ${each.path}`;
        if (each.right === "anyone") expect([200, 404], told).toContain(answer.status);
        else expect(answer.status, told).toBe(401);
        await answer.arrayBuffer();
      }
    }
  });

  it("lets each role do what its rights say, and no more", async () => {
    let refused = 0;
    for (const each of endpoints.filter(({ method }) => method !== "delete")) {
      for (const role of ROLES) {
        const answer = await asked(each, as(role));
        const told = `${role}: ${each.method} ${each.path} (${each.right})`;
        if (mayDo(role, each.right)) expect([401, 403], told).not.toContain(answer.status);
        else {
          await problemOf(answer, 403, "not-allowed");
          refused++;
        }
        if (!answer.bodyUsed) await textOf(answer);
      }
    }
    for (const each of endpoints.filter(({ method, right }) => method === "delete" && right !== "work")) {
      await problemOf(await asked(each, as("operator")), 403, "not-allowed");
      refused++;
    }
    expect(refused).toBeGreaterThan(20);
  });

  it("shows an owner of another site nothing of this one, and lets them change nothing in it", async () => {
    const mine = new Set(Object.values(ids));
    for (const each of endpoints) {
      const answer = await asked(each, as("elsewhere"));
      const told = `${each.method} ${each.path}`;
      const text = await textOf(answer);
      if (each.right === "anyone") continue;
      if (each.path.includes(":id")) expect([400, 404, 428], `${told}: ${text.slice(0, 200)}`).toContain(answer.status);
      for (const id of mine) expect(text.includes(id), `${told} tells of ${id}`).toBe(false);
      if (each.path.includes(":id")) {
        const named = await asked(each, { ...as("elsewhere"), "X-Site": app.parts.data.local.site });
        expect(named.status, `${told} with X-Site`).toBe(401); // no member there
        await named.arrayBuffer();
      }
    }
    // and all of it is still there
    for (const noun of ["photos", "readings", "decks", "runs"]) {
      expect((await app.get(`/api/${noun}/${ids[noun]}`, as("owner"))).status, noun).toBe(200);
    }
  });

  it("takes uploads in parts from those who may work here only", async () => {
    const headers = { "Tus-Resumable": "1.0.0", "Upload-Length": "10" };
    const begin = (more: object) =>
      fetch(`${app.at}/api/uploads`, { method: "POST", headers: { ...headers, ...more } });
    expect((await begin({})).status).toBe(401);
    const made = await begin(as("operator"));
    expect(made.status).toBe(201);
    const at = app.at + made.headers.get("Location");
    expect((await fetch(at, { method: "HEAD", headers: { ...headers, ...as("elsewhere") } })).status).toBe(404);
    expect((await fetch(at, { method: "HEAD", headers: { ...headers, ...as("reviewer") } })).status).toBe(200);
  });
});

describe("logging in", () => {
  it("needs the right address and pass phrase, and says no more than that one of them is wrong", async () => {
    const page = await fetch(`${app.at}/`, { redirect: "manual" });
    expect([page.status, page.headers.get("Location")]).toEqual([303, "/log-in"]);
    const wrong = await form("/log-in", { email: "owner@deck.example", phrase: "something else entirely" });
    const unknown = await form("/log-in", { email: "nobody@deck.example", phrase: PHRASE });
    expect([wrong.status, unknown.status]).toEqual([401, 401]);
    expect(await wrong.text()).toBe(await unknown.text());
    const right = await form("/log-in", { email: "OWNER@deck.example", phrase: PHRASE });
    expect(right.status).toBe(303);
    const [cookie] = right.headers.getSetCookie();
    expect(cookie).toMatch(/HttpOnly/i);
    expect(cookie).toMatch(/SameSite=Lax/i);
  });

  it("ends when one logs out, also for whoever copied the cookie", async () => {
    const right = await form("/log-in", { email: "trainer@deck.example", phrase: PHRASE });
    const Cookie = right.headers
      .getSetCookie()
      .map((one) => one.split(";")[0])
      .join("; ");
    expect((await app.get("/api/site", { Cookie })).status).toBe(200);
    expect((await app.ask("POST", "/log-out", undefined, { Cookie, "Sec-Fetch-Site": "same-origin" })).url).toMatch(
      /log-in$/,
    );
    await problemOf(await app.get("/api/site", { Cookie }), 401, "log-in");
  });

  it("keeps pass phrases only as digests, and tokens only as digests", async () => {
    const { db } = app.parts.data;
    const all = JSON.stringify([
      await db.selectFrom("invitations").selectAll().execute(),
      await db.selectFrom("devices").selectAll().execute(),
      await (db as never as { selectFrom(t: string): { selectAll(): { execute(): Promise<unknown> } } })
        .selectFrom("auth_accounts")
        .selectAll()
        .execute(),
    ]);
    expect(all).not.toContain(PHRASE);
    const made = await app.ask("POST", "/api/devices", { name: "Another" }, as("operator"));
    const { token } = contract.MadeDevice.parse(await made.json());
    expect(JSON.stringify(await db.selectFrom("devices").selectAll().execute())).not.toContain(token);
  });

  it("cookies go over HTTPS only where people reach the server by HTTPS", async () => {
    const safe = await serving({ logIn: true, address: "https://decks.example", reader: new Reader({ entry: MOODY }) });
    const { token } = await safe.parts.members.invite(safe.parts.data.local, "owner", 1);
    const body = new URLSearchParams({ name: "A", email: "a@deck.example", phrase: PHRASE });
    const answer = await fetch(`${safe.at}/join/${token}`, { method: "POST", body, redirect: "manual" });
    expect(answer.headers.getSetCookie()[0]).toMatch(/^__Secure-.*; Secure/);
    await safe.close();
  });

  it("cannot be guessed fast", async () => {
    const statuses: number[] = [];
    for (let i = 0; i < 30; i++) {
      statuses.push(
        (await form("/log-in", { email: "owner@deck.example", phrase: `guess number ${i} of many` })).status,
      );
    }
    expect(statuses.at(-1)).toBe(429);
    const elsewhere = { "X-Forwarded-For": "192.0.2.7" }; // as a proxy on this computer says it (RFC 5737: a made address)
    const body = new URLSearchParams({ email: "owner@deck.example", phrase: "a guess from another address" });
    const other = await fetch(`${app.at}/log-in`, { method: "POST", body, headers: elsewhere, redirect: "manual" });
    expect(other.status).toBe(401);
  });
});

describe("invitations, devices and people", () => {
  it("an invitation lets one person in, once, and not when it is withdrawn or too old", async () => {
    const { members, data } = app.parts;
    const { token } = await members.invite(data.local, "operator", 1);
    const person = { name: "A", email: "once@deck.example", phrase: PHRASE };
    await expect(members.join(token, { ...person, phrase: "too short" })).rejects.toThrow(/at least 16/);
    await expect(members.join(token, { ...person, email: "owner@deck.example" })).rejects.toThrow(/already/);
    await members.join(token, person);
    await expect(members.join(token, { ...person, email: "twice@deck.example" })).rejects.toThrow(/was used/);
    const old = await members.invite(data.local, "operator", 1);
    await data.db
      .updateTable("invitations")
      .set({ expires_at: "2001-01-01T00:00:00.000Z" })
      .where("id", "=", old.id)
      .execute();
    expect(await members.invited(old.token)).toBeNull();
    const gone = await members.invite(data.local, "operator", 1);
    await members.withdrawInvitation(data.local, gone.id);
    expect(await members.invited(gone.token)).toBeNull();
  });

  it("a made invitation has a link and a QR code of it", async () => {
    const made = await app.ask("POST", "/api/invitations", { role: "reviewer" }, as("owner"));
    const { link, qrSvg } = contract.MadeInvitation.parse(await made.json());
    expect(link).toMatch(new RegExp(`^${app.at}/join/[\\w-]{43}$`));
    expect(qrSvg).toMatch(/^<svg /);
  });

  it("a device asks in its person's name until its token is taken back, or the person let out", async () => {
    const device = async () => {
      const made = await app.ask("POST", "/api/devices", { name: "Phone" }, as("reviewer"));
      return contract.MadeDevice.parse(await made.json());
    };
    const [first, second] = [await device(), await device()];
    const by = ({ token }: { token: string }) => ({ Authorization: `Bearer ${token}` });
    expect((await app.get("/api/site", by(first))).status).toBe(200);
    expect((await app.ask("DELETE", `/api/devices/${first.id}`, undefined, as("operator"))).status).toBe(404); // not its own
    expect((await app.ask("DELETE", `/api/devices/${first.id}`, undefined, as("reviewer"))).status).toBe(204);
    expect((await app.get("/api/site", by(first))).status).toBe(401);

    const list = contract.PersonList.parse(await (await app.get("/api/people", as("owner"))).json());
    const reviewer = list.items.find(({ role }) => role === "reviewer")!;
    expect((await app.ask("DELETE", `/api/people/${reviewer.id}`, undefined, as("owner"))).status).toBe(204);
    expect((await app.get("/api/site", by(second))).status).toBe(401);
    expect((await app.get("/api/site", as("reviewer"))).status).toBe(401);
  });

  it("an owner of two sites names the one a request is about", async () => {
    const made = await app.ask("POST", "/api/sites", { name: "Second" }, as("elsewhere"));
    const { id } = contract.Site.parse(await made.json());
    const second = { ...as("elsewhere"), "X-Site": id };
    expect(await (await app.get("/api/site", second)).json()).toMatchObject({ id, name: "Second" });
    expect(await (await app.get(`/api/site?site=${id}`, as("elsewhere"))).json()).toMatchObject({ id });
    expect((await app.get(`/api/site?site=${app.parts.data.local.site}`, as("elsewhere"))).status).toBe(401);
    await app.ask("POST", "/api/decks", { name: "There", file: DECK }, second);
    const decks = async (headers: Record<string, string>) =>
      contract.DeckList.parse(await (await app.get("/api/decks", headers)).json()).items.length;
    expect([await decks(second), await decks(as("elsewhere"))]).toEqual([1, 0]);
    expect((await app.ask("DELETE", `/api/sites/${id}`, undefined, as("elsewhere"))).status).toBe(404); // not meant
    expect((await app.ask("DELETE", `/api/sites/${id}`, undefined, second)).status).toBe(204);
    expect((await app.get("/api/site", second)).status).toBe(401);
  });
});

describe("a case shared by link", () => {
  it("shows that reading and nothing else, until it is withdrawn or too old", async () => {
    const made = await app.ask("POST", `/api/readings/${ids.readings}/shares`, { days: 1 }, as("owner"));
    const { id, link } = contract.MadeShare.parse(await made.json());
    const page = await fetch(link); // a stranger
    expect(page.status).toBe(200);
    expect(await page.text()).toContain("lock out the drive");
    const there = await (await fetch(link, { headers: { "Accept-Language": "sw, en;q=0.5" } })).text();
    expect(there).toMatch(/<html lang="sw">/);
    for (const word of ["safety.drive", "rep.noBand"]) {
      expect(there).toContain(speechIn("sw").say(word));
      expect(there).not.toContain(speechIn("en").say(word));
    }
    const { photo } = contract.Reading.parse(await (await fetch(`${link}/reading.json`)).json());
    expect(photo.name).toBe("photo");
    await problemOf(await fetch(`${link}/overlay.jpg`), 404, "not-found"); // this reading has no picture
    await problemOf(await fetch(`${app.at}/api/readings/${ids.readings}`), 401, "log-in");
    await problemOf(await fetch(`${link.slice(0, -1)}${link.endsWith("A") ? "B" : "A"}`), 404, "not-found");

    expect((await app.ask("DELETE", `/api/shares/${id}`, undefined, as("elsewhere"))).status).toBe(404);
    expect((await app.ask("DELETE", `/api/shares/${id}`, undefined, as("owner"))).status).toBe(204);
    for (const path of ["", "/reading.json"]) await problemOf(await fetch(link + path), 404, "not-found");

    const { token } = await app.parts.data.shares.add(app.parts.data.local, ids.readings!, 1);
    await app.parts.data.db.updateTable("shares").set({ expires_at: "2001-01-01T00:00:00.000Z" }).execute();
    await problemOf(await fetch(`${app.at}/share/${token}`), 404, "not-found");
  });
});
