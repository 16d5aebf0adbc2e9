import { Writable } from "node:stream";
import { expect, it } from "vitest";
import { openLog } from "../../server/log.ts";
import { Reader } from "../../server/reader.ts";
import { MOODY, photoNo, serving, until } from "./serving.ts";

it("tells what happens and what fails, and no secret, address, file name or person", async () => {
  const lines: string[] = [];
  const to = new Writable({
    write(line, _encoding, done) {
      lines.push(String(line));
      done();
    },
  });
  const app = await serving({ logIn: true, log: openLog("debug", to), reader: new Reader({ entry: MOODY }) });
  const { members, data, jobs } = app.parts;
  const { token: joining } = await members.invite(data.local, "owner", 1);
  const person = { name: "Secretname", email: "secretname@deck.example", phrase: "secret words on a slow deck" };
  const joined = await fetch(`${app.at}/join/${joining}`, {
    method: "POST",
    body: new URLSearchParams(person),
    redirect: "manual",
  });
  const Cookie = joined.headers
    .getSetCookie()
    .map((cookie) => cookie.split(";")[0])
    .join("; ");
  const { token: device } = (await (
    await app.ask("POST", "/api/devices", { name: "Secretphone" }, { Cookie })
  ).json()) as { token: string };
  const by = { Authorization: `Bearer ${device}` };

  const sent = await app.send(await photoNo(1), { ...by, "X-File-Name": "fault secretfile.jpg" });
  const { id: photo } = (await sent.json()) as { id: string };
  const { id } = (await (await app.ask("POST", "/api/readings", { photo }, by)).json()) as { id: string };
  await until(async () => (await jobs.one(data.local, id)).state === "given-up");
  for (const path of [
    `/share/${"s".repeat(43)}`,
    `/join/${joining}`,
    "/api/photos/secretid?cursor=secretcursor",
    "/secretplace",
  ]) {
    await (await app.get(path, { Cookie })).arrayBuffer();
  }
  await (await app.ask("POST", "/api/runs", { name: "secretrun", wrong: "secretfield" }, by)).arrayBuffer();
  await data.db.schema.dropTable("shares").execute(); // a fault of ours
  expect((await app.get("/api/shares", by)).status).toBe(500);

  const told = lines.map((line) => JSON.parse(line) as { msg: string; route?: string; code?: string });
  expect(told).toContainEqual(expect.objectContaining({ msg: "job given up", code: "engine-failed", job: id }));
  expect(told).toContainEqual(expect.objectContaining({ msg: "a request was refused", route: "/share/:token" }));
  expect(told).toContainEqual(expect.objectContaining({ msg: "an answer failed", route: "/api/shares" }));
  const all = lines.join("");
  for (const secret of [device, joining, "s".repeat(43), Cookie.split("=")[1]!]) expect(all).not.toContain(secret);
  expect(all).not.toMatch(/secret(name|phone|file|id|cursor|place|run|field| words)/i);
  await app.close();
});
