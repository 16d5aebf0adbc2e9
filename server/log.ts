import pino, { type DestinationStream, type Logger } from "pino";

/**
 * What happens, one JSON object a line on standard error, where it is not mixed with what commands answer. Requests are
 * told by method and route: no header, query, body, address or file name goes in.
 *
 * @param level  pino's: silent, error, warn, info, debug.
 */
export const openLog = (level: string, to: DestinationStream = pino.destination(2)): Logger =>
  pino({ level, base: null, timestamp: pino.stdTimeFunctions.isoTime }, to);
