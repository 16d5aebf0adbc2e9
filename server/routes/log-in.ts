import express, { type Express, type Request, type Response } from "express";
import { z } from "zod";
import { type Auth, LEAST_PHRASE } from "../people/auth.ts";
import type { Members } from "../people/members.ts";
import type { Who } from "../people/who.ts";
import { parse, RequestError } from "../problems.ts";

const LogIn = z.object({ email: z.string().max(300), phrase: z.string().max(300) });
const Join = LogIn.extend({ name: z.string().trim().min(1).max(200), email: z.email().max(300) });

/** Pages to log in, to come in by an invitation, and to log out: plain forms, which need no script. */
export function answerLogIn(app: Express, auth: Auth, members: Members, who: Who): void {
  const form = express.urlencoded({ extended: false, limit: "10kb" });

  app.get("/", async (req, res, next) => {
    if (await who(req)) return next();
    res.redirect(303, "/log-in");
  });

  app.get("/log-in", (_req, res) => void show(res, 200, logInPage("")));
  app.post("/log-in", form, async (req, res) => {
    const { email, phrase } = parse(LogIn, req.body ?? {});
    const cookies = await auth.logIn(email, phrase);
    if (!cookies) return void show(res, 401, logInPage("Address or pass phrase is wrong. Try again."));
    res.setHeader("Set-Cookie", cookies);
    res.redirect(303, "/");
  });

  app.post("/log-out", async (req, res) => {
    res.setHeader("Set-Cookie", await auth.logOut(new Headers({ cookie: req.get("Cookie") ?? "" })));
    res.redirect(303, "/log-in");
  });

  app.get("/join/:token", async (req, res) => {
    const invited = await members.invited(tokenIn(req));
    if (!invited)
      throw new RequestError("not-found", "This invitation was used, withdrawn or is too old. Ask for a new one.");
    show(res, 200, joinPage(`Come into ${invited.siteName} as ${invited.role}`, ""));
  });
  app.post("/join/:token", form, async (req, res) => {
    const person = parse(Join, req.body ?? {});
    await members.join(tokenIn(req), person);
    const cookies = await auth.logIn(person.email, person.phrase);
    if (cookies) res.setHeader("Set-Cookie", cookies);
    res.redirect(303, "/");
  });
}

const tokenIn = ({ params }: Request) => String(params.token ?? "");

function show(res: Response, status: number, page: string): void {
  res.status(status).type("text/html").send(page);
}

const field = (label: string, name: string, type: string, more = "") =>
  `<p><label>${label}<br><input name="${name}" type="${type}" required ${more}></label></p>`;
const ADDRESS = field("E-mail address, to know you by", "email", "email", 'autocomplete="username"');

const logInPage = (told: string) =>
  whole(
    "Log in",
    told,
    `${ADDRESS}${field("Pass phrase", "phrase", "password", 'autocomplete="current-password"')}<p><button>Log in</button></p>`,
  );

const joinPage = (title: string, told: string) =>
  whole(
    title,
    told,
    `${field("Your name", "name", "text", 'autocomplete="name" maxlength="200"')}${ADDRESS}${field(
      `Pass phrase: four words or more, at least ${LEAST_PHRASE} characters`,
      "phrase",
      "password",
      `autocomplete="new-password" minlength="${LEAST_PHRASE}" maxlength="200"`,
    )}<p><button>Come in</button></p>`,
  );

function whole(title: string, told: string, fields: string): string {
  const safe = title.replace(/[&<>"]/g, (c) => `&#${c.charCodeAt(0)};`);
  return `<!doctype html><html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width">
<title>${safe}</title></head><body><h1>${safe}</h1>${told ? `<p role="alert">${told}</p>` : ""}<form method="post">${fields}</form></body></html>`;
}
