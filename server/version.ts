import { readFileSync } from "node:fs";

/** The package's version, such as "0.1.0". */
export const VERSION: string = JSON.parse(readFileSync(new URL("../package.json", import.meta.url), "utf8")).version;
