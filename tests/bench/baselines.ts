import { RandomForestClassifier } from "ml-random-forest";
import { appearancesOf } from "../../vision/appearance.ts";
import type { OpenCv } from "../../vision/index.ts";
import { kMeans, withMats } from "../../vision/opencv.ts";
import { randomFrom } from "../../vision/scene/random.ts";
import type { EvenDeck, FlatDeck } from "../../vision/stages.ts";
import { boxMean } from "../../vision/texture.ts";

/** What a person could do today with general tools, the deck laid flat for them by true corners. Classes on the deck's grid. */
export interface Baseline {
  readonly name: string;
  readonly read: (cv: OpenCv, flat: FlatDeck, even: EvenDeck, truth: Uint8Array) => Uint8Array;
}
export const BASELINES: readonly Baseline[] = [
  { name: "k-means told the answer", read: byClusters },
  { name: "random forest from strokes", read: byForest },
  { name: "watershed from strokes", read: byWatershed },
];

const CLUSTERS = 8;

/** K-means in CIELAB, each cluster called by its commonest true class: a floor that no one could have, since it is told the answer. */
function byClusters(cv: OpenCv, _flat: FlatDeck, even: EvenDeck, truth: Uint8Array): Uint8Array {
  const { lab, seen } = even.halved;
  const cells = [...seen.keys()].filter((j) => seen[j]);
  const points = new Float32Array(cells.length * 3);
  cells.forEach((j, n) => {
    points.set([lab.L[j]!, lab.a[j]!, lab.b[j]!], 3 * n);
  });
  const { labels } = kMeans(cv, points, 3, CLUSTERS, 3);
  const cluster = new Int8Array(seen.length).fill(-1);
  cells.forEach((j, n) => {
    cluster[j] = labels[n]!;
  });
  const of = (i: number) => cluster[halvedAt(even, i)]!;
  const votes = Array.from({ length: CLUSTERS }, () => new Float64Array(6));
  truth.forEach((t, i) => {
    if (t && even.seen[i]) votes[of(i)]![t]!++;
  });
  const called = votes.map((row) => row.indexOf(Math.max(...row)));
  return truth.map((_, i) => (even.seen[i] ? called[of(i)]! : 0));
}

/** The cell of 4 mm that a deck cell lies in. */
function halvedAt({ grid, halved }: EvenDeck, i: number): number {
  return (Math.floor(i / grid.columns) >> 1) * halved.grid.columns + ((i % grid.columns) >> 1);
}

/** Dabs of a patient person: on each class that shows, so many discs of this radius (cells of 2 mm) well inside it. */
const DABS = 4;
const DAB_CELLS = 6;

/** The class dabbed on each cell, else 0. */
function strokes(truth: Uint8Array, { columns, rows }: EvenDeck["grid"]): Uint8Array {
  const random = randomFrom(11);
  const out = new Uint8Array(truth.length);
  for (let k = 1; k <= 5; k++) {
    const share = boxMean(
      Float32Array.from(truth, (t) => (t === k ? 1 : 0)),
      columns,
      rows,
      DAB_CELLS,
    );
    const within = [...share.keys()].filter((i) => share[i]! > 0.98);
    for (let n = 0; n < DABS && within.length > 0; n++) {
      const at = within[Math.floor(random() * within.length)]!;
      const [x, y] = [at % columns, Math.floor(at / columns)];
      for (let row = Math.max(0, y - DAB_CELLS); row <= Math.min(rows - 1, y + DAB_CELLS); row++) {
        for (let column = Math.max(0, x - DAB_CELLS); column <= Math.min(columns - 1, x + DAB_CELLS); column++) {
          const i = row * columns + column;
          if (Math.hypot(row - y, column - x) <= DAB_CELLS && truth[i] === k) out[i] = k;
        }
      }
    }
  }
  return out;
}

/** A random forest on colour and texture, taught on the strokes. Source: Breiman (2001), Machine Learning 45, 5-32. */
function byForest(cv: OpenCv, _flat: FlatDeck, even: EvenDeck, truth: Uint8Array): Uint8Array {
  const { seen, features } = appearancesOf(cv, even);
  const taught = strokes(truth, even.grid);
  const at = (i: number) => halvedAt(even, i);
  const known = [...taught.keys()].filter((i) => taught[i] && seen[at(i)]).filter((_, n) => n % 5 === 0);
  const row = (j: number) => features.map((plane) => plane[j]!);
  const forest = new RandomForestClassifier({
    nEstimators: 30,
    seed: 5,
    maxFeatures: 2,
    replacement: true,
    noOOB: true,
  });
  forest.train(
    known.map((i) => row(at(i))),
    known.map((i) => taught[i]!),
  );
  const there = [...seen.keys()].filter((j) => seen[j]);
  const told = forest.predict(there.map(row));
  const coarse = new Uint8Array(seen.length);
  there.forEach((j, n) => {
    coarse[j] = told[n]!;
  });
  return Uint8Array.from(truth, (_, i) => (even.seen[i] ? coarse[at(i)]! : 0));
}

/** The strokes grown along the picture's slopes until they meet. Source: Meyer (1992), ICASSP 92, vol. 3, 529-532. */
function byWatershed(cv: OpenCv, { rgba }: FlatDeck, even: EvenDeck, truth: Uint8Array): Uint8Array {
  const { columns, rows } = even.grid;
  const taught = strokes(truth, even.grid);
  return withMats(cv, (own) => {
    const colour = own(new cv.Mat(rows, columns, cv.CV_8UC4));
    colour.data.set(rgba);
    const picture = own(new cv.Mat());
    cv.cvtColor(colour, picture, cv.COLOR_RGBA2RGB);
    const markers = own(new cv.Mat(rows, columns, cv.CV_32S));
    markers.data32S.set(taught);
    cv.watershed(picture, markers);
    const read = new Uint8Array(truth.length);
    for (let i = 0; i < read.length; i++) {
      const label = markers.data32S[i]!;
      // the lines between basins go to the basin before them
      if (even.seen[i]) read[i] = label > 0 ? label : (read[i - 1] ?? 0);
    }
    return read;
  });
}
