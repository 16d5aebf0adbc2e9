import type { PaperActions, PaperAnswer, PaperCall } from "./paper.worker.ts";
import { troubleOf } from "./trouble.ts";

/** The page's half of the paper worker: one worker a piece of work, ended after it, since such work is rare and takes room. */
export function onPaper<Name extends keyof PaperActions>(
  name: Name,
  arg: Parameters<PaperActions[Name]>[0],
  signal: AbortSignal,
): Promise<Awaited<ReturnType<PaperActions[Name]>>> {
  signal.throwIfAborted();
  const worker = new Worker(new URL("./paper.worker.ts", import.meta.url), { type: "module" });
  const call: PaperCall = { name, arg };
  return new Promise<Awaited<ReturnType<PaperActions[Name]>>>((resolve, reject) => {
    signal.addEventListener("abort", () => reject(signal.reason), { once: true });
    worker.onmessage = ({ data }: MessageEvent<PaperAnswer>) => {
      if ("value" in data) resolve(data.value as never);
      else reject(troubleOf(data.code, "", new Error(data.message)));
    };
    worker.onerror = ({ message }) => reject(troubleOf("no-answer", "", new Error(message))); // its script could not be had
    worker.postMessage(call);
  }).finally(() => worker.terminate());
}
