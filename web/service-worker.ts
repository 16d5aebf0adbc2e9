/// <reference lib="webworker" />
/** What stays usable without a network. Runs as the page's service worker; it imports nothing, so that it is one file. */

export interface OfflineFiles {
  /** Digest of all files of the program. */
  readonly version: string;
  /** What the page needs to be there; kept before this worker takes over. */
  readonly shell: readonly string[];
  /** What reading on the device needs besides; the page fetches it, with progress. `sentBytes`: as Brotli. */
  readonly reading: readonly { readonly path: string; readonly bytes: number; readonly sentBytes: number }[];
}
/** The build writes the list here. */
declare const OFFLINE_FILES: OfflineFiles;

const FILES = OFFLINE_FILES;
const worker = self as unknown as ServiceWorkerGlobalScope;
/** One cache a version; `program.ts` knows the names of the other two. */
const SHELL = "deckbands shell ";
const READING = "deckbands reading";
const SAMPLES = "deckbands samples";
/** There from a log-out until `alarm-push.ts` hears of it. */
const LOGGED_OUT = "deckbands logged out";
/** How long the server may take to tell of its samples before those kept are shown, ms. */
const PATIENCE_MS = 4000;

worker.addEventListener("install", (event) => {
  // names with a hash in them never change: those that the page has just loaded are not asked for again
  const asked = FILES.shell.map(
    (path) => new Request(path, { cache: path.startsWith("assets/") ? "default" : "no-cache" }),
  );
  event.waitUntil(caches.open(SHELL + FILES.version).then((cache) => cache.addAll(asked)));
});

worker.addEventListener("activate", (event) => event.waitUntil(takeOver()));
async function takeOver(): Promise<void> {
  // the version before stays, for a tab that still runs it
  const others = (await caches.keys()).filter((name) => name.startsWith(SHELL) && name !== SHELL + FILES.version);
  const [before, ...older] = others.reverse();
  await Promise.all(older.map((name) => caches.delete(name)));
  const wanted = new Set([...FILES.reading.map(({ path }) => path), ...(before ? await readingOf(before) : [])]);
  const reading = await caches.open(READING);
  for (const request of await reading.keys()) if (!wanted.has(pathOf(request.url))) await reading.delete(request);
  await worker.clients.claim();
}
async function readingOf(cacheName: string): Promise<string[]> {
  const list = await (await caches.open(cacheName)).match("offline-files.json");
  return list ? ((await list.json()) as OfflineFiles).reading.map(({ path }) => path) : [];
}

worker.addEventListener("message", ({ data }) => {
  if (data === "take over") void worker.skipWaiting();
});

worker.addEventListener("fetch", (event) => {
  const { request } = event;
  if (request.method === "POST" && request.mode === "navigate" && pathOf(request.url) === "log-out") {
    event.waitUntil(tellNoMore());
  }
  if (request.method !== "GET" || !request.url.startsWith(worker.registration.scope)) return;
  const path = pathOf(request.url);
  if (request.mode === "navigate") {
    if (path === "" || path === "index.html") event.respondWith(kept("index.html", request));
  } else if (FILES.shell.includes(path) || /^(assets|reading)\//.test(path)) event.respondWith(kept(path, request));
  else if (path === "api/samples" || path.startsWith("samples/")) event.respondWith(freshOrKept(request));
});

const pathOf = (url: string) => new URL(url).pathname.slice(new URL(worker.registration.scope).pathname.length);

/** From this version, else from whatever is kept, else from the server. */
async function kept(path: string, request: Request): Promise<Response> {
  const shell = await caches.open(SHELL + FILES.version);
  const how = { ignoreVary: true };
  return (await shell.match(path, how)) ?? (await caches.match(path, how)) ?? fetch(request);
}

async function freshOrKept(request: Request): Promise<Response> {
  const samples = await caches.open(SAMPLES);
  const old = await samples.match(request, { ignoreVary: true });
  try {
    const fresh = await fetch(request, old ? { signal: AbortSignal.timeout(PATIENCE_MS) } : {});
    if (fresh.ok || !old) return fresh;
  } catch (error) {
    if (!old) throw error;
  }
  return old;
}

// An alarm that the server sent while the page may be closed, in the language of whoever subscribed

interface AlarmMessage {
  readonly title: string;
  readonly body: string;
  readonly language: string;
  readonly deck: string;
}
worker.addEventListener("push", (event) => {
  const said = event.data?.json() as AlarmMessage | undefined;
  if (!said) return;
  const { title, body, language: lang, deck: tag } = said;
  const icon = new URL("icon-192.png", worker.registration.scope).href;
  event.waitUntil(worker.registration.showNotification(title, { body, lang, tag, icon, requireInteraction: true }));
});

/** Whoever logs out is told no more on this device, whoever logs in next; the page hears of it when it is next opened. */
async function tellNoMore(): Promise<void> {
  await (await caches.open(LOGGED_OUT)).put("log-out", new Response());
  await (await worker.registration.pushManager.getSubscription())?.unsubscribe();
}

worker.addEventListener("notificationclick", (event) => {
  event.notification.close();
  event.waitUntil(openRuns());
});
async function openRuns(): Promise<void> {
  const [page] = await worker.clients.matchAll({ type: "window", includeUncontrolled: true });
  if (!page) return void (await worker.clients.openWindow(`${worker.registration.scope}#runs`));
  await page.focus();
  page.postMessage("open runs");
}
