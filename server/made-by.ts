import { readFileSync } from "node:fs";
import { sha256 } from "./sha256.ts";
import { VERSION } from "./version.ts";

/** What makes readings: the version of the code and of the model's weights. Another one may read a photo otherwise. */
export const PROGRAM = `${VERSION} ${sha256(readFileSync(new URL("../vision/model/classes.bin", import.meta.url))).slice(0, 12)}`;
