import { deckToSend } from "./deck.ts";
import type { Reader } from "./reader.ts";
import type { Quick, State } from "./state.ts";

/**
 * Keeps the quick look up with taps and corners: one at a time, of what stands last.
 *
 * @param now  What the page knows now.
 * @param seen  Hears each look.
 */
export function quickLooks(reader: Reader, now: () => State, seen: (quick: Quick) => void) {
  let isLooking = false;
  let isBehind = false;
  return async function follow(): Promise<void> {
    const { photo, corners, deck, taps, result, cornersSet, device } = now();
    // corners that nobody set and no reading found are a mere guess
    const isPlaced = cornersSet || result?.reading.view;
    if (!photo || !isPlaced || device.readiness.state !== "ready") return;
    if (isLooking) {
      isBehind = true;
      return;
    }
    isLooking = true;
    const look = await reader
      .quickLook(photo, { deck: deckToSend(deck), corners, taps })
      .catch((error: unknown) => console.warn(error)); // an extra: the reading says what is wrong
    isLooking = false;
    if (look && now().photo === photo) seen({ corners, look });
    if (isBehind) {
      isBehind = false;
      void follow();
    }
  };
}
