import type { OfflineFiles } from "./service-worker.ts";

/** The program itself on this device: its service worker, and the files that reading here needs. */

/** Names that `service-worker.ts` knows too. */
const READING = "deckbands reading";
const SAMPLES = "deckbands samples";

/** How far this device is from working without a network. */
export type Readiness =
  | { readonly state: "impossible" }
  /** Bytes that are still to be fetched; `broken`: it was tried. */
  | { readonly state: "offered" | "broken"; readonly sentBytes: number }
  | { readonly state: "getting"; readonly share: number }
  | { readonly state: "ready" };

/** Whether pages of this browser, at this address, may stay without a network: it wants HTTPS, or this very computer. */
export const canStay = () => "serviceWorker" in navigator && "caches" in window && window.isSecureContext;

/**
 * Keep the page on this device. A newer version that came while the page was last used takes over now, before anything is
 * begun; one that comes later waits.
 *
 * @param renewed  A newer version waits; `use` changes over to it.
 */
export async function stay(renewed: (use: () => void) => void): Promise<void> {
  const { serviceWorker } = navigator;
  const registration = await serviceWorker.register("./service-worker.js");
  const changeOver = (waiting: ServiceWorker) => {
    serviceWorker.addEventListener("controllerchange", () => location.reload(), { once: true });
    waiting.postMessage("take over");
  };
  const offer = (waiting: ServiceWorker) => renewed(() => changeOver(waiting));
  if (registration.waiting && serviceWorker.controller) changeOver(registration.waiting);
  registration.addEventListener("updatefound", () => {
    const coming = registration.installing;
    coming?.addEventListener("statechange", () => {
      if (coming.state === "installed" && serviceWorker.controller) offer(coming);
    });
  });
  // an installed page may stay open for days
  document.addEventListener("visibilitychange", () => {
    if (document.visibilityState === "visible") registration.update().catch(() => {}); // no network: another time
  });
  await serviceWorker.ready;
}

/** Which files reading here needs, and which of them are missing. */
async function filesForReading() {
  const list = (await (await fetch("offline-files.json")).json()) as OfflineFiles;
  const cache = await caches.open(READING);
  const missing: (typeof list.reading)[number][] = [];
  for (const file of list.reading) if (!(await cache.match(file.path, { ignoreVary: true }))) missing.push(file);
  return { all: list.reading, missing, cache };
}

export async function readiness(): Promise<Readiness> {
  const { missing } = await filesForReading();
  if (missing.length === 0) return { state: "ready" };
  return { state: "offered", sentBytes: missing.reduce((sum, { sentBytes }) => sum + sentBytes, 0) };
}

/**
 * Fetch what is missing, one file after another; what has come stays, whatever happens next.
 *
 * @param tell  Hears the share that is here, 0 to 1.
 * @throws when the line breaks, there is no room, or `signal` aborts.
 */
export async function getReady(tell: (share: number) => void, signal: AbortSignal): Promise<void> {
  const { all, missing, cache } = await filesForReading();
  const total = all.reduce((sum, { sentBytes }) => sum + sentBytes, 0);
  let here = total - missing.reduce((sum, { sentBytes }) => sum + sentBytes, 0);
  for (const { path, bytes, sentBytes } of missing) {
    const before = here;
    const response = await fetch(path, { signal });
    if (!response.ok || !response.body) throw new Error(`${path}: ${response.status}`);
    const counted = response.body.pipeThrough(
      new TransformStream<Uint8Array<ArrayBuffer>, Uint8Array<ArrayBuffer>>({
        transform(chunk, to) {
          here += (chunk.length / bytes) * sentBytes;
          tell(here / total);
          to.enqueue(chunk);
        },
      }),
    );
    const whole = await new Response(counted).blob();
    if (whole.size !== bytes) throw new Error(`${path}: ${whole.size} of ${bytes} bytes`);
    const headers = { "content-type": response.headers.get("content-type") ?? "application/octet-stream" };
    await cache.put(path, new Response(whole, { headers }));
    here = before + sentBytes;
  }
}

/** Keep the list of samples and one sample photo, to try the program without a network. */
export async function keepSample(photoUrl: string): Promise<void> {
  const cache = await caches.open(SAMPLES);
  await cache.add("api/samples");
  if (!(await cache.match(photoUrl))) await cache.add(photoUrl);
}

/** Which of these sample photos are kept here. */
export async function keptSamples(photoUrls: readonly string[]): Promise<string[]> {
  const cache = await caches.open(SAMPLES);
  const found = await Promise.all(photoUrls.map((url) => cache.match(url)));
  return photoUrls.filter((_, i) => found[i]);
}
