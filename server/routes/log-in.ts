import { createRequire } from "node:module";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";
import express, { type Express, type Request, type Response } from "express";
import { z } from "zod";
import type { Parts } from "../parts.ts";
import { LEAST_PHRASE, type Passkey } from "../people/auth.ts";
import { parse, RequestError } from "../problems.ts";

const LogIn = z.object({ email: z.string().max(300), phrase: z.string().max(300) });
const Join = LogIn.extend({ name: z.string().trim().min(1).max(200), email: z.email().max(300) });

/** What pages with passkeys run: the library that speaks WebAuthn, and what we do with it. */
const SCRIPTS: Readonly<Record<string, string>> = {
  "webauthn.js": join(
    dirname(createRequire(import.meta.url).resolve("@simplewebauthn/browser")),
    "../dist/bundle/index.umd.min.js",
  ),
  "passkeys.js": fileURLToPath(new URL("../people/page/passkeys.js", import.meta.url)),
};

/**
 * Pages to log in, to come in by an invitation, to look after one's passkeys and to log out: forms that need no script, but
 * for passkeys.
 */
export function answerLogIn(app: Express, { auth, members, who, address }: Parts): void {
  const form = express.urlencoded({ extended: false, limit: "10kb" });
  const passkeys = address !== null; // they belong to the address where people reach the server

  app.get("/", async (req, res, next) => {
    if (await who(req)) return next();
    res.redirect(303, "/log-in");
  });

  app.get("/log-in", (_req, res) => void show(res, 200, logInPage("", passkeys)));
  app.post("/log-in", form, async (req, res) => {
    const { email, phrase } = parse(LogIn, req.body ?? {});
    const cookies = await auth.logIn(email, phrase);
    if (!cookies) return void show(res, 401, logInPage("Address or pass phrase is wrong. Try again.", passkeys));
    res.setHeader("Set-Cookie", cookies);
    res.redirect(303, "/");
  });

  app.post("/log-out", async (req, res) => {
    res.setHeader("Set-Cookie", await auth.logOut(headersOf(req)));
    res.redirect(303, "/log-in");
  });

  app.get("/join/:token", async (req, res) => {
    const invited = await members.invited(tokenIn(req));
    if (!invited)
      throw new RequestError("not-found", "This invitation was used, withdrawn or is too old. Ask for a new one.");
    show(res, 200, joinPage(`Come into ${invited.siteName} as ${invited.role}`));
  });
  app.post("/join/:token", form, async (req, res) => {
    const person = parse(Join, req.body ?? {});
    await members.join(tokenIn(req), person);
    const cookies = await auth.logIn(person.email, person.phrase);
    if (cookies) res.setHeader("Set-Cookie", cookies);
    res.redirect(303, passkeys ? "/account" : "/");
  });

  app.get("/account", async (req, res) => {
    if ((await auth.personIn(headersOf(req))) === null) return res.redirect(303, "/log-in");
    show(res, 200, accountPage(passkeys ? await auth.passkeysIn(headersOf(req)) : null));
  });
  if (!passkeys) return;
  app.all("/api/auth/passkey/:action", (req, res) => auth.answerPasskeys(req, res));
  app.get("/log-in/:script", (req, res, next) => {
    const path = Object.hasOwn(SCRIPTS, req.params.script) ? SCRIPTS[req.params.script] : undefined;
    if (path) res.type("text/javascript").sendFile(path);
    else next();
  });
}

const headersOf = (req: Request) => new Headers({ cookie: req.get("Cookie") ?? "" });
const tokenIn = ({ params }: Request) => String(params.token ?? "");

function show(res: Response, status: number, page: string): void {
  res.status(status).type("text/html").send(page);
}

const field = (label: string, name: string, type: string, more = "") =>
  `<p><label>${label}<br><input name="${name}" type="${type}" required ${more}></label></p>`;
const ADDRESS = field("E-mail address, to know you by", "email", "email", 'autocomplete="username"');

const logInPage = (told: string, passkeys: boolean) =>
  whole(
    "Log in",
    told,
    `<form method="post">${ADDRESS}${field("Pass phrase", "phrase", "password", 'autocomplete="current-password"')}
<p><button>Log in</button></p></form>${passkeys ? `<p><button id="use-passkey">Log in with a passkey</button></p>${WITH_SCRIPTS}` : ""}`,
  );

const joinPage = (title: string) =>
  whole(
    title,
    "",
    `<form method="post">${field("Your name", "name", "text", 'autocomplete="name" maxlength="200"')}${ADDRESS}${field(
      `Pass phrase: four words or more, at least ${LEAST_PHRASE} characters`,
      "phrase",
      "password",
      `autocomplete="new-password" minlength="${LEAST_PHRASE}" maxlength="200"`,
    )}<p><button>Come in</button></p></form>`,
  );

const accountPage = (passkeys: readonly Passkey[] | null) => {
  const list = (passkeys ?? []).map(({ id, createdAt }) => {
    const since = createdAt ? ` since ${createdAt.toISOString().slice(0, 10)}` : "";
    return `<li>Passkey${since} <button data-passkey="${safe(id)}">Delete</button></li>`;
  });
  const keys = `<h2>Passkeys</h2><ul>${list.join("")}</ul><p><button id="add-passkey">Add a passkey</button></p>${WITH_SCRIPTS}`;
  return whole(
    "Your account",
    "",
    `${passkeys ? keys : ""}<form method="post" action="/log-out"><p><a href="/">To the photos</a> <button>Log out</button></p></form>`,
  );
};

/** Said by the scripts; loaded from this server, since no script within a page may run. */
const WITH_SCRIPTS = `<p id="said" role="status"></p><script src="/log-in/webauthn.js"></script><script src="/log-in/passkeys.js"></script>`;

function whole(title: string, told: string, body: string): string {
  return `<!doctype html><html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width">
<title>${safe(title)}</title></head><body><h1>${safe(title)}</h1>${told ? `<p role="alert">${told}</p>` : ""}${body}</body></html>`;
}

const safe = (text: string) => text.replace(/[&<>"']/g, (c) => `&#${c.charCodeAt(0)};`);
