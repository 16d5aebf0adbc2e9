import tensorWasm from "@tensorflow/tfjs-backend-wasm/dist/tfjs-backend-wasm-simd.wasm?url";
import {
  type Engines,
  loadDeckEyes,
  loadFirstLook,
  loadOpenCv,
  readyTensors,
  type WeightList,
} from "../vision/index.ts";

/** OpenCV and the networks with their weights, in a browser's worker; `server/eyes.ts` does the same for the server. */

const WEIGHTS = {
  classes: {
    list: new URL("../vision/model/classes.json", import.meta.url),
    numbers: new URL("../vision/model/classes.bin", import.meta.url),
  },
  outline: {
    list: new URL("../vision/model/outline.json", import.meta.url),
    numbers: new URL("../vision/model/outline.bin", import.meta.url),
  },
  wayRound: {
    list: new URL("../vision/model/way-round.json", import.meta.url),
    numbers: new URL("../vision/model/way-round.bin", import.meta.url),
  },
} as const;

let opening: Promise<Engines> | null = null;
/** Opened once; a failure is tried again. @throws when a file of theirs cannot be had. */
export function engines(): Promise<Engines> {
  opening ??= open().catch((error: unknown) => {
    opening = null;
    throw error;
  });
  return opening;
}

async function open(): Promise<Engines> {
  const wasm = new URL(tensorWasm, import.meta.url).href;
  // each name wants an address; a browser that draws in a worker, without which no photo gets here, has SIMD too
  const tensors = readyTensors({
    "tfjs-backend-wasm.wasm": wasm,
    "tfjs-backend-wasm-simd.wasm": wasm,
    "tfjs-backend-wasm-threaded-simd.wasm": wasm,
  });
  const [{ cv }, classes, outline, wayRound] = await Promise.all([
    loadOpenCv(),
    weightsOf("classes"),
    weightsOf("outline"),
    weightsOf("wayRound"),
    tensors,
  ]);
  return { cv, eyes: { ...loadDeckEyes(outline, wayRound), lookAt: loadFirstLook(classes.list, classes.weights) } };
}

async function weightsOf(name: keyof typeof WEIGHTS): Promise<{ list: WeightList; weights: Uint16Array }> {
  const [list, numbers] = await Promise.all([fetched(WEIGHTS[name].list), fetched(WEIGHTS[name].numbers)]);
  return { list: (await list.json()) as WeightList, weights: new Uint16Array(await numbers.arrayBuffer()) };
}

async function fetched(address: URL): Promise<Response> {
  const response = await fetch(address);
  if (!response.ok) throw new Error(`${address.pathname}: ${response.status}`);
  return response;
}
