import { fileURLToPath } from "node:url";

/**
 * Letters for drawn pictures also where a machine has no fonts. Imported before sharp, and from the main thread: a
 * worker's environment does not reach native code.
 */
process.env.FONTCONFIG_FILE ??= fileURLToPath(new URL("./fonts.conf", import.meta.url));
