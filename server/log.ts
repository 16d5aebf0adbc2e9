import pino, { type Logger } from "pino";

/**
 * What happens, one JSON object a line on standard error, where it is not mixed with what commands answer. Requests are
 * told by method, path and status: no header, query, body, address or file name goes in.
 *
 * @param level  pino's: silent, error, warn, info, debug.
 */
export const openLog = (level: string): Logger =>
  pino(
    { level, base: null, timestamp: pino.stdTimeFunctions.isoTime, redact: ["*.bytes", "*.name"] },
    pino.destination(2),
  );
