import { fileURLToPath } from "node:url";

/**
 * Letters for drawn pictures also where a machine has no fonts. Imported before anything is drawn, and from the main
 * thread: a change of a worker's environment does not reach native code.
 */
process.env.FONTCONFIG_FILE ??= fileURLToPath(new URL("./fonts.conf", import.meta.url));
