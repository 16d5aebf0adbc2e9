import { readdirSync, readFileSync } from "node:fs";
import { sha256 } from "./sha256.ts";
import { VERSION } from "./version.ts";

const MODEL = new URL("../vision/model/", import.meta.url);

/** What makes readings: the version of the code and a digest of all weights. Another one may read a photo otherwise. */
export const PROGRAM = `${VERSION} ${digestOfWeights().slice(0, 12)}`;

function digestOfWeights(): string {
  const files = readdirSync(MODEL).filter((name) => name.endsWith(".bin"));
  return sha256(
    files
      .sort()
      .map((name) => `${name} ${sha256(readFileSync(new URL(name, MODEL)))}`)
      .join("\n"),
  );
}
