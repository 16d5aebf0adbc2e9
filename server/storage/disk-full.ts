/** Whether this error says that the disk has no room. */
export const isDiskFull = (error: unknown) =>
  ["SQLITE_FULL", "ENOSPC", "EDQUOT"].includes((error as { code?: string } | null)?.code ?? "");
