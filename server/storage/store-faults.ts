/** What photos or rows are kept in cannot be reached just now; nothing is wrong with what was asked. */
export class StoreAway extends Error {}

const codeOf = (error: unknown) => String((error as { code?: string } | null)?.code ?? "");

/** Whether this error says that the disk has no room. 53100: PostgreSQL's own disk (its manual, appendix A). */
export const isDiskFull = (error: unknown) => ["SQLITE_FULL", "ENOSPC", "EDQUOT", "53100"].includes(codeOf(error));

/** PostgreSQL is shutting down, starting, has no connection left, or was failed over to another server (its manual, appendix A). */
const AWAY = /^(08...|57P0[1235]|53300|25006)$/;
/** There is no way to it. */
const NO_LINE = ["ECONNREFUSED", "ECONNRESET", "EPIPE", "ETIMEDOUT", "EHOSTUNREACH", "ENOTFOUND", "EAI_AGAIN"];
/** What the driver says without a code. */
const CUT =
  /^(Connection terminated|timeout exceeded when trying to connect|Client (has encountered|was closed)|Query read timeout)/;

/** Whether this error says that the database or the object storage cannot be reached. */
export function isAway(error: unknown): boolean {
  if (error instanceof StoreAway) return true;
  if (!(error instanceof Error)) return false;
  if ((error as NodeJS.ErrnoException).syscall === "connect" && codeOf(error) === "ENOENT") return true; // its socket is a file
  return AWAY.test(codeOf(error)) || NO_LINE.includes(codeOf(error)) || CUT.test(error.message);
}

/** PostgreSQL keeps no character 0 in text. */
export const isBadText = (error: unknown) => codeOf(error) === "22021";
