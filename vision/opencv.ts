import opencv from "opencv-wasm";
import { EngineError } from "./errors.ts";
import type { Photo } from "./stages.ts";

// opencv-wasm ships no types: the one `any` of the project, kept behind this file's functions.
// biome-ignore lint/suspicious/noExplicitAny: an untyped module
export type OpenCv = any;
interface Deletable {
  delete(): void;
}

/** Wait until OpenCV's WebAssembly is ready. Resolves to a box, since the module itself answers to `then`. */
export function loadOpenCv(): Promise<{ cv: OpenCv }> {
  const cv = (opencv as OpenCv).cv ?? opencv;
  return new Promise((resolve) => {
    if (cv.Mat) resolve({ cv });
    else cv.onRuntimeInitialized = () => resolve({ cv });
  });
}

/**
 * Run `work`, then free each OpenCV object it owned, newest first, whether it returned or threw.
 * WebAssembly memory is invisible to the garbage collector; no other file calls `delete()`.
 *
 * @param work  Synchronous. Wraps each new Mat in `own(…)` and returns plain data, never a Mat.
 * @throws {EngineError} `engine-failed`, in OpenCV's words; {TypeError} when a promise or a Mat comes back.
 */
export function withMats<T>(cv: OpenCv, work: (own: <M extends Deletable>(mat: M) => M) => T): T {
  const owned: Deletable[] = [];
  try {
    const result = work((mat) => {
      owned.push(mat);
      return mat;
    });
    if (result instanceof Promise) throw new TypeError("withMats: work must be synchronous");
    if (owned.some((mat) => (mat as unknown) === result)) throw new TypeError("withMats: return data, not a Mat");
    return result;
  } catch (error) {
    throw typeof error === "number" ? new EngineError("engine-failed", cv.exceptionFromPtr(error).msg) : error;
  } finally {
    for (const mat of owned.reverse()) mat.delete();
  }
}

/** Rows copied into WebAssembly at once. */
const STRIP_ROWS = 240;
/** A part of a photo, whole pixels. */
export interface Box {
  readonly left: number;
  readonly top: number;
  readonly width: number;
  readonly height: number;
}

/**
 * A part of a photo with each block of n × n pixels averaged into one; a Mat, RGBA. WebAssembly never holds more of the photo
 * itself than a strip.
 *
 * @param box  Its sides are whole blocks.
 */
export function blockMeans(
  cv: OpenCv,
  own: <M extends Deletable>(mat: M) => M,
  { width, rgba }: Photo,
  box: Box,
  n: number,
): OpenCv {
  const means = own(new cv.Mat(box.height / n, box.width / n, cv.CV_8UC4));
  const rows = Math.min(box.height, n * Math.max(1, Math.floor(STRIP_ROWS / n)));
  for (let from = 0; from < box.height; from += rows) {
    const count = Math.min(rows, box.height - from);
    withMats(cv, (ownStrip) => {
      const strip = ownStrip(new cv.Mat(count, box.width, cv.CV_8UC4));
      for (let row = 0; row < count; row++) {
        const start = ((box.top + from + row) * width + box.left) * 4;
        strip.data.set(rgba.subarray(start, start + box.width * 4), row * box.width * 4);
      }
      const into = ownStrip(means.roi(new cv.Rect(0, from / n, box.width / n, count / n)));
      if (n === 1) strip.copyTo(into);
      else cv.resize(strip, into, new cv.Size(box.width / n, count / n), 0, 0, cv.INTER_AREA);
    });
  }
  return means;
}

/**
 * k-means with k-means++ starts; the best of some attempts.
 *
 * @param points  `count × dimensions`, row-major.
 * @returns `labels`, one for each point; `centres`, `clusters × dimensions`.
 * Source: Arthur & Vassilvitskii (2007), SODA, 1027-1035. The random seed is fixed: same points, same answer.
 */
export function kMeans(cv: OpenCv, points: Float32Array, dimensions: number, clusters: number, attempts = 1) {
  return withMats(cv, (own) => {
    const samples = own(new cv.Mat(points.length / dimensions, dimensions, cv.CV_32F));
    samples.data32F.set(points);
    const labels = own(new cv.Mat());
    const centres = own(new cv.Mat());
    const stop = new cv.TermCriteria(cv.TermCriteria_EPS + cv.TermCriteria_MAX_ITER, 15, 0.05);
    cv.setRNGSeed(20);
    cv.kmeans(samples, clusters, labels, stop, attempts, cv.KMEANS_PP_CENTERS, centres);
    return { labels: new Int32Array(labels.data32S), centres: new Float32Array(centres.data32F) };
  });
}

export interface Blob {
  readonly label: number;
  readonly cells: number;
  readonly left: number;
  readonly top: number;
  readonly width: number;
  readonly height: number;
}

/** 8-connected regions of a 0/1 mask, `rows × columns`. Label 0 is the background and is not listed. */
export function connectedBlobs(cv: OpenCv, mask: Uint8Array, columns: number, rows: number) {
  return withMats(cv, (own) => {
    const image = own(new cv.Mat(rows, columns, cv.CV_8U));
    image.data.set(mask);
    const labels = own(new cv.Mat());
    const stats = own(new cv.Mat());
    const centroids = own(new cv.Mat());
    const count = cv.connectedComponentsWithStats(image, labels, stats, centroids, 8, cv.CV_32S);
    const blobs: Blob[] = [];
    for (let i = 1; i < count; i++) {
      const [left, top, width, height, cells] = stats.data32S.subarray(i * 5, i * 5 + 5);
      blobs.push({ label: i, cells: cells!, left: left!, top: top!, width: width!, height: height! });
    }
    return { labels: new Int32Array(labels.data32S), blobs };
  });
}

/** Outer outlines of a 0/1 mask's regions as cell coordinates, simplified to within `tolerance` cells. */
export function outlinesOf(cv: OpenCv, mask: Uint8Array, columns: number, rows: number, tolerance: number) {
  return withMats(cv, (own) => {
    const image = own(new cv.Mat(rows, columns, cv.CV_8U));
    image.data.set(mask);
    const contours = own(new cv.MatVector());
    const hierarchy = own(new cv.Mat());
    cv.findContours(image, contours, hierarchy, cv.RETR_EXTERNAL, cv.CHAIN_APPROX_NONE);
    const found: [number, number][][] = [];
    for (let i = 0; i < contours.size(); i++) {
      const contour = own(contours.get(i));
      const simple = own(new cv.Mat());
      cv.approxPolyDP(contour, simple, tolerance, true);
      const points: [number, number][] = [];
      for (let j = 0; j < simple.rows; j++) points.push([simple.data32S[2 * j], simple.data32S[2 * j + 1]]);
      found.push(points);
    }
    return found;
  });
}
