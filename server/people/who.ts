import type { Request } from "express";
import { RequestError } from "../problems.ts";
import type { Member } from "../storage/caller.ts";
import type { Data } from "../storage/data.ts";
import type { Auth } from "./auth.ts";
import type { Members } from "./members.ts";

/** Finds out who asks. */
export type Who = (req: Request) => Promise<Member | null>;

/** On a computer that only its own people reach: whoever asks is the owner. */
export const ownerAlways =
  (data: Data): Who =>
  async () => ({ ...data.local, role: "owner" });

/**
 * By a device's token or the cookie of a log-in. `X-Site`, or `?site=`, names one of the person's sites.
 *
 * @returns null for a stranger. A wrong token is a stranger's.
 */
export const byLogIn =
  (auth: Auth, members: Members): Who =>
  async (req) => {
    const bearer = /^Bearer (\S+)$/i.exec(req.get("Authorization") ?? "")?.[1];
    if (bearer !== undefined) return members.byDevice(bearer);
    const person = await auth.personIn(new Headers({ cookie: req.get("Cookie") ?? "" }));
    return person === null ? null : members.member(person, req.get("X-Site") ?? siteIn(req));
  };

/** Pictures and events of a page cannot send a header. */
const siteIn = ({ query }: Request) => (typeof query.site === "string" ? query.site : undefined);

export const STRANGER = () =>
  new RequestError("log-in", "Log in first: open /log-in in a browser, or send a device's token.");
export const NOT_ALLOWED = () =>
  new RequestError("not-allowed", "Your role in this site does not allow that. Ask an owner of the site.");
