import { randomBytes } from "node:crypto";
import type { IncomingMessage, ServerResponse } from "node:http";
import { toNodeHandler } from "better-auth/node";
import { type Db, isPostgres } from "../storage/database.ts";
import { newId } from "../storage/naming.ts";
import type { Secrets } from "../storage/secrets.ts";

/** Shortest pass phrase, characters: four or five words (NIST SP 800-63B-4, section 3.1.1.2: at least 15). */
export const LEAST_PHRASE = 16;
const MOST_PHRASE = 200;
/** How long a log-in lasts when it is not used, seconds. */
const SESSION_SECONDS = 14 * 24 * 60 * 60;

/** A passkey as its owner knows it. */
export interface Passkey {
  readonly id: string;
  readonly name?: string | undefined;
  readonly createdAt: Date | null;
}

/** Log-in by address and pass phrase or by passkey, with sessions in cookies; better-auth keeps all of it. */
export interface Auth {
  /** @returns cookies that log in; null when address or pass phrase is wrong. */
  logIn(email: string, phrase: string): Promise<string[] | null>;
  /** @returns cookies that log out; the session is over. */
  logOut(headers: Headers): Promise<string[]>;
  /** Who these headers' cookie logs in. */
  personIn(headers: Headers): Promise<string | null>;
  passkeysIn(headers: Headers): Promise<readonly Passkey[]>;
  /** Answers what browsers ask below /api/auth/passkey/. */
  answerPasskeys(req: IncomingMessage, res: ServerResponse): Promise<void>;
  /** Make a person who can log in. @returns their id; null when somebody has this address. */
  addPerson(person: { name: string; email: string; phrase: string }): Promise<string | null>;
}

/** @param address  Where people reach the server, such as https://decks.example; over HTTPS, cookies go over HTTPS only. */
export function openAuth(db: Db, secrets: Secrets, address: string): Auth {
  let opened: ReturnType<typeof open> | null = null;
  /** Loaded when first wanted: a server for one computer never wants it. */
  const auth = () => {
    opened ??= open(db, secrets, address);
    return opened;
  };
  const cookies = (answer: Response) => answer.headers.getSetCookie();
  return {
    async logIn(email, password) {
      const answer = await (await auth()).api.signInEmail({ body: { email, password }, asResponse: true });
      return answer.ok ? cookies(answer) : null;
    },
    async logOut(headers) {
      return cookies(await (await auth()).api.signOut({ headers, asResponse: true }));
    },
    async personIn(headers) {
      if (!headers.get("cookie")) return null;
      return (await (await auth()).api.getSession({ headers }))?.user.id ?? null;
    },
    async passkeysIn(headers) {
      return (await auth()).api.listPasskeys({ headers });
    },
    async answerPasskeys(req, res) {
      await toNodeHandler(await auth())(req, res);
    },
    async addPerson({ name, email, phrase }) {
      const { internalAdapter: rows, password } = await (await auth()).$context;
      if (await rows.findUserByEmail(email)) return null;
      const user = await rows.createUser({ name, email, emailVerified: false }, { method: "email-password" });
      const account = { userId: user.id, providerId: "credential", accountId: user.id };
      await rows.linkAccount({ ...account, password: await password.hash(phrase) });
      return user.id;
    },
  };
}

async function open(db: Db, secrets: Secrets, address: string) {
  const { betterAuth } = await import("better-auth");
  const { passkey } = await import("@better-auth/passkey");
  return betterAuth({
    appName: "deckbands",
    baseURL: address,
    basePath: "/api/auth",
    secret: await secrets.get("secret", () => randomBytes(32).toString("base64url")), // signs cookies
    database: { db, type: isPostgres(db) ? "postgres" : "sqlite" },
    emailAndPassword: {
      enabled: true,
      disableSignUp: true, // people come by invitation
      minPasswordLength: LEAST_PHRASE,
      maxPasswordLength: MOST_PHRASE,
    },
    user: { modelName: "auth_users" },
    session: { modelName: "auth_sessions", expiresIn: SESSION_SECONDS },
    account: { modelName: "auth_accounts" },
    verification: { modelName: "auth_verifications" },
    advanced: {
      cookiePrefix: "deckbands",
      useSecureCookies: address.startsWith("https:"),
      database: { generateId: newId },
      ipAddress: { disableIpTracking: true },
      defaultCookieAttributes: { sameSite: "lax", httpOnly: true },
    },
    plugins: [
      passkey({
        rpID: new URL(address).hostname,
        rpName: "deckbands",
        origin: new URL(address).origin,
        schema: { passkey: { modelName: "auth_passkeys" } },
      }),
    ],
    telemetry: { enabled: false },
    logger: { disabled: true },
  });
}
