/** The command was called in a way that cannot be carried out; the message says what to do. Exit code 2. */
export class UsageError extends Error {}
