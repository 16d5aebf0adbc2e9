import { readFile } from "node:fs/promises";
import { createRequire } from "node:module";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";
import { type Look, loadFirstLook, readyTensors } from "../vision/index.ts";

const WEIGHTS = fileURLToPath(new URL("../vision/model/", import.meta.url));

/** The classes network with its weights, on the WebAssembly backend. */
export async function firstLook(): Promise<Look> {
  const wasm = dirname(createRequire(import.meta.url).resolve("@tensorflow/tfjs-backend-wasm"));
  await readyTensors(`${wasm}/`);
  const bytes = await readFile(join(WEIGHTS, "classes.bin"));
  const list = JSON.parse(await readFile(join(WEIGHTS, "classes.json"), "utf8"));
  return loadFirstLook(list, new Uint16Array(bytes.buffer.slice(bytes.byteOffset, bytes.byteOffset + bytes.length)));
}
