import type { DeckFileInput, DeckState } from "../vision/contract/index.ts";
import { cameraView } from "./parts/camera-view.ts";
import type { Reader } from "./reader.ts";
import { troubleOf } from "./trouble.ts";

/** The camera with guidance before the shutter, and a short burst for one photo. Loaded when it is first opened. */

export interface CameraNeeds {
  readonly reader: Reader;
  readonly deck: DeckFileInput | null;
  /** Whether this device has what looks at frames. */
  readonly canGuide: boolean;
  readonly take: (photo: Blob, name: string, deckState: DeckState) => void;
  readonly fail: (error: unknown) => void;
  readonly close: () => void;
}
export interface Camera {
  /** In the language spoken now; made anew, it takes over from the one before. */
  readonly screen: () => HTMLElement;
  /** Gives the camera back. */
  readonly stop: () => void;
}

/** As many pixels as the camera has; phones give a page less than their own camera program gets. */
const WANTED = { facingMode: { ideal: "environment" }, width: { ideal: 4096 }, height: { ideal: 3072 } };
/** Longest side of frames that are looked at, px, and how often, ms. */
const LOOKED_AT_PX = 1280;
const LOOK_EVERY_MS = 500;
/** A burst: frames, and ms from one to the next; fewer of large ones, which take their room in memory. */
const [FRAMES, FRAMES_OF_LARGE] = [7, 5];
const LARGE_PIXELS = 6e6;
/** Uneven, else a deck whose stroke takes as long as a step would seem to stand. */
const NEXT_FRAME_MS = [110, 170, 130, 190, 120, 160];

/** @throws {Trouble} when there is no camera to use; with an AbortError when it is not wanted any more. */
export async function openCamera(needs: CameraNeeds, signal: AbortSignal): Promise<Camera> {
  const stream = await navigator.mediaDevices.getUserMedia({ video: WANTED }).catch((error: unknown) => {
    throw troubleOf(FAULTS[(error as DOMException).name] ?? "camera-busy", "", error);
  });
  const stop = () => {
    shown?.abort();
    for (const track of stream.getTracks()) track.stop();
  };
  let shown: AbortController | null = null;
  if (signal.aborted) stop();
  signal.throwIfAborted();
  for (const track of stream.getTracks()) track.onended = () => needs.fail(troubleOf("camera-busy"));
  return {
    stop,
    screen: () => {
      shown?.abort();
      shown = new AbortController();
      return run(needs, stream, shown.signal);
    },
  };
}
const FAULTS: Readonly<Record<string, string>> = {
  NotAllowedError: "camera-denied",
  SecurityError: "camera-denied",
  NotFoundError: "camera-none",
  OverconstrainedError: "camera-none",
};

/** @param signal  Aborted when this screen is left. */
function run({ reader, deck, canGuide, take, fail, close }: CameraNeeds, stream: MediaStream, signal: AbortSignal) {
  const view = cameraView(stream, { shoot: () => void shoot().catch(fail), close });
  const { video } = view;
  let isShooting = false;
  let corners: Parameters<Reader["mergeFrames"]>[1] = null;
  const wait = (ms: number) => new Promise((resolve) => setTimeout(resolve, ms));
  const isThere = () => video.readyState >= HTMLMediaElement.HAVE_CURRENT_DATA && video.videoWidth > 0;

  async function guide() {
    while (!signal.aborted && !isShooting) {
      const start = performance.now();
      if (isThere() && !document.hidden) {
        const { videoWidth, videoHeight } = video;
        const scale = Math.min(1, LOOKED_AT_PX / Math.max(videoWidth, videoHeight));
        const size = { resizeWidth: Math.round(videoWidth * scale), resizeHeight: Math.round(videoHeight * scale) };
        const sight = await reader.lookAtFrame(await createImageBitmap(video, size), deck);
        if (signal.aborted || isShooting) return;
        corners = sight.corners;
        view.tell(sight);
      }
      await wait(Math.max(50, LOOK_EVERY_MS - (performance.now() - start)));
    }
  }

  async function shoot() {
    if (isShooting || !isThere()) return;
    isShooting = true;
    const takenAt = new Date();
    const isLarge = video.videoWidth * video.videoHeight > LARGE_PIXELS;
    const count = canGuide ? (isLarge ? FRAMES_OF_LARGE : FRAMES) : 1;
    const frames: ImageBitmap[] = [];
    for (let i = 0; i < count && !signal.aborted; i++) {
      view.shooting(i + 1, count);
      frames.push(await createImageBitmap(video));
      if (i + 1 < count) await wait(NEXT_FRAME_MS[i]!);
    }
    if (signal.aborted) return;
    view.merging();
    const taken = await reader.mergeFrames(frames, corners, takenAt);
    if (!signal.aborted) take(taken.jpeg, nameOf(takenAt, taken.frames), taken.deckState);
  }

  if (canGuide) {
    guide().catch((error: unknown) => {
      if (signal.aborted) return;
      console.warn(error); // the shutter works without
      view.cannotGuide();
    });
  } else view.cannotGuide();
  return view.element;
}

/** Such as `deck-2026-01-31-094512-median-of-7.jpg`: the moment in local time, and of how many frames it is. */
function nameOf(takenAt: Date, frames: number): string {
  const local = new Date(takenAt.getTime() - takenAt.getTimezoneOffset() * 60_000).toISOString();
  const moment = local.slice(0, 19).replace("T", "-").replaceAll(":", "");
  return `deck-${moment}${frames > 1 ? `-median-of-${frames}` : ""}.jpg`;
}
