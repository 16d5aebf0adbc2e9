import { createServer } from "node:http";
import type { AddressInfo } from "node:net";
import { chromium } from "playwright-core";
import { afterAll, beforeAll, expect, it } from "vitest";
import { Reader } from "../../server/reader.ts";
import { MOODY, type Serving, serving } from "./serving.ts";

let app: Serving;
let address: string;
const browser = chromium.launch({
  executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium",
  args: ["--no-sandbox", "--disable-gpu"],
});

beforeAll(async () => {
  const port = await freePort();
  address = `http://localhost:${port}`; // passkeys belong to a name; browsers take localhost without HTTPS
  app = await serving({ logIn: true, address, port, reader: new Reader({ entry: MOODY }) });
});
afterAll(async () => {
  await (await browser).close();
  await app.close();
});

async function freePort(): Promise<number> {
  const server = createServer();
  await new Promise<void>((listening) => server.listen(0, "127.0.0.1", listening));
  const { port } = server.address() as AddressInfo;
  await new Promise((closed) => server.close(closed));
  return port;
}

it("one comes in by a link, adds a passkey, logs out, and logs in with it; deleted, it opens nothing", async () => {
  const page = await (await browser).newPage();
  const complaints: string[] = [];
  page.on("pageerror", (error) => complaints.push(error.message));
  // a made authenticator that agrees to everything (W3C Web Authentication Level 3, section 12: WebDriver extension)
  const devtools = await page.context().newCDPSession(page);
  await devtools.send("WebAuthn.enable");
  const options = {
    protocol: "ctap2",
    transport: "internal",
    hasResidentKey: true,
    hasUserVerification: true,
  } as const;
  await devtools.send("WebAuthn.addVirtualAuthenticator", {
    options: { ...options, isUserVerified: true, automaticPresenceSimulation: true },
  });

  const { token } = await app.parts.members.invite(app.parts.data.local, "owner", 1);
  await page.goto(`${address}/join/${token}`);
  await page.getByLabel("Your name").fill("Ana");
  await page.getByLabel(/E-mail/).fill("ana@deck.example");
  await page.getByLabel(/Pass phrase/).fill("wet sand on a slow deck");
  await page.getByRole("button", { name: "Come in" }).click();
  await page.getByRole("button", { name: "Add a passkey" }).click();
  await page.getByText(/^Passkey since/).waitFor();
  await page.getByRole("button", { name: "Log out" }).click();

  await page.getByRole("button", { name: "Log in with a passkey" }).click();
  await page.waitForURL(`${address}/`);
  expect(await page.evaluate(async () => (await fetch("/api/site")).status)).toBe(200);

  await page.goto(`${address}/account`);
  await page.getByRole("button", { name: "Delete" }).click();
  await page.getByText(/^Passkey since/).waitFor({ state: "detached" });
  await page.getByRole("button", { name: "Log out" }).click();
  await page.getByRole("button", { name: "Log in with a passkey" }).click();
  await page.getByText(/^That did not work|^Nothing was done/).waitFor();
  expect(await page.evaluate(async () => (await fetch("/api/site")).status)).toBe(401);
  expect(complaints).toEqual([]);
});

it("a stranger's answers to /api/auth open nothing", async () => {
  for (const path of ["list-user-passkeys", "generate-register-options", "verify-registration", "nothing"]) {
    const answer = await fetch(`${address}/api/auth/passkey/${path}`);
    expect([400, 401, 403, 404, 405], path).toContain(answer.status);
  }
  const forged = await fetch(`${address}/api/auth/passkey/verify-authentication`, {
    method: "POST",
    headers: { "Content-Type": "application/json", Origin: address },
    body: JSON.stringify({
      response: { id: "x", rawId: "x", type: "public-key", response: {}, clientExtensionResults: {} },
    }),
  });
  expect(forged.ok).toBe(false);
  expect(forged.headers.getSetCookie().filter((cookie) => /session/.test(cookie))).toEqual([]);
  expect((await fetch(`${address}/api/auth/sign-up/email`, { method: "POST" })).status).toBe(404); // only passkeys are there
});
