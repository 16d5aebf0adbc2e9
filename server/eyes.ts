import { readFile } from "node:fs/promises";
import { createRequire } from "node:module";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";
import { type Eyes, loadDeckEyes, loadFirstLook, readyTensors, type WeightList } from "../vision/index.ts";

const WEIGHTS = fileURLToPath(new URL("../vision/model/", import.meta.url));

/** The networks with their weights, on the WebAssembly backend. */
export async function openEyes(): Promise<Eyes> {
  const wasm = dirname(createRequire(import.meta.url).resolve("@tensorflow/tfjs-backend-wasm"));
  await readyTensors(`${wasm}/`);
  const [classes, outline, wayRound] = await Promise.all(["classes", "outline", "way-round"].map(weightsOf));
  return { ...loadDeckEyes(outline!, wayRound!), lookAt: loadFirstLook(classes!.list, classes!.weights) };
}

async function weightsOf(name: string): Promise<{ list: WeightList; weights: Uint16Array }> {
  const bytes = await readFile(join(WEIGHTS, `${name}.bin`));
  const list = JSON.parse(await readFile(join(WEIGHTS, `${name}.json`), "utf8"));
  return { list, weights: new Uint16Array(bytes.buffer, bytes.byteOffset, bytes.length / 2) };
}
