import { z } from "zod";
import { Push, PushKey } from "../vision/contract/index.ts";
import { ask } from "./api.ts";
import { keepEntry, keptEntries } from "./set-up-kept.ts";
import { currentLanguage } from "./words.ts";

/** Whether this device is told of alarms, and how: while the page is closed where the browser can, else by the open page. */

/** `push`: also while the page is closed. `denied`: the person, or the browser, lets no notifications through. */
export type AlarmWay = "none" | "push" | "open" | "denied";

const WANTED = "alarms wanted";
const SUBSCRIBED = "alarms told to";
/** The service worker makes a cache of this name at a log-out. */
const LOGGED_OUT = "deckbands logged out";
export const alarmsWanted = (): boolean => keptEntries()[WANTED] === "yes";

/** Have this device told. @returns how that is done. */
export async function wantAlarms(): Promise<AlarmWay> {
  keepEntry(WANTED, "yes");
  if (!canPush()) return "open";
  const permission = await Notification.requestPermission();
  return permission === "granted" ? subscribe() : "denied";
}

/** How it is told now; a browser that may push subscribes again where its subscription is gone, in the language spoken now. */
export async function alarmWay(): Promise<AlarmWay> {
  if (canPush() && (await caches.delete(LOGGED_OUT))) await withdrawAlarms();
  if (!alarmsWanted()) return "none";
  if (!canPush()) return "open";
  return Notification.permission === "granted" ? subscribe() : "denied";
}

/** Have this device told no more: at once here, and on the server as soon as it answers. */
export async function withdrawAlarms(): Promise<void> {
  keepEntry(WANTED, "");
  const id = keptEntries()[SUBSCRIBED];
  keepEntry(SUBSCRIBED, "");
  const registration = canPush() ? await navigator.serviceWorker.getRegistration() : undefined;
  // the push service then refuses what the server still sends
  await (await registration?.pushManager.getSubscription())?.unsubscribe();
  if (id) await ask(z.null(), `api/pushes/${id}`, { method: "DELETE" }).catch(() => {});
}

const canPush = () => "serviceWorker" in navigator && "PushManager" in window && "Notification" in window;

async function subscribe(): Promise<AlarmWay> {
  try {
    const registration = await navigator.serviceWorker.getRegistration();
    if (!registration?.active) return "open";
    const { publicKey } = await ask(PushKey, "api/push-key", {});
    const subscription = await subscriptionFor(registration.pushManager, publicKey);
    const { endpoint, keys } = subscription.toJSON();
    const body = JSON.stringify({ endpoint, keys, language: currentLanguage() });
    const headers = { "content-type": "application/json" };
    const { id } = await ask(Push, "api/pushes", { method: "POST", body, headers });
    keepEntry(SUBSCRIBED, id);
    return "push";
  } catch (error) {
    console.info(error); // no push service is reached from here
    return "open";
  }
}

/** The one there is, where it is for this server's key; else a new one. */
async function subscriptionFor(manager: PushManager, publicKey: string): Promise<PushSubscription> {
  const known = await manager.getSubscription();
  const own = known?.options.applicationServerKey;
  if (known && own && base64Url(new Uint8Array(own)) === publicKey) return known;
  await known?.unsubscribe();
  return manager.subscribe({ userVisibleOnly: true, applicationServerKey: publicKey });
}
const base64Url = (bytes: Uint8Array) =>
  btoa(String.fromCharCode(...bytes))
    .replaceAll("+", "-")
    .replaceAll("/", "_")
    .replaceAll("=", "");
