import { readdir, readFile } from "node:fs/promises";
import { join } from "node:path";
import sharp from "sharp";
import { decode } from "../../server/decode.ts";
import type { CornersFile } from "../../vision/contract/index.ts";
import { type Deck, describeDeck, gridOf, type Photo } from "../../vision/index.ts";
import { photoPlace } from "../../vision/scene/camera.ts";
import { classInPhoto, makeScene } from "../../vision/scene/index.ts";

/** A photo of a deck whose truth is known. */
export interface Case {
  readonly name: string;
  readonly deck: Deck;
  readonly corners: CornersFile;
  readonly photo: Photo;
  /** Classes on the deck's grid. */
  readonly truth: Uint8Array;
  /** What the picture shows, by kind: its fault, its light, its materials … */
  readonly about: Readonly<Record<string, string>>;
}

/** Even: training uses odd seeds. */
const FIRST_TEST_SEED = 2_000_000;
/** Photos of 1400 to 2100 px: smaller ones are refused as too coarse. */
const SCENE_DETAIL = 2.2;

const json = async (path: string) => JSON.parse(await readFile(path, "utf8"));

/** Each photo of a folder that has NAME.truth.png, NAME.deck.json, NAME.corners.json and NAME.about.json beside it. */
export async function* casesOf(folder: string): AsyncGenerator<Case> {
  for (const file of (await readdir(folder)).filter((f) => f.endsWith(".truth.png")).sort()) {
    const name = file.replace(".truth.png", "");
    const deck = describeDeck(await json(join(folder, `${name}.deck.json`)));
    const corners = await json(join(folder, `${name}.corners.json`));
    const told = await json(join(folder, `${name}.about.json`));
    const about = {
      ...(told.materials && { dense: told.materials.dense, light: told.materials.light }),
      ...(told.deck?.skin && { deck: told.deck.skin }),
      ...(typeof told.light === "string" && { lamp: told.light }),
      ...(told.faults && { fault: told.faults.join(" and ") || "none" }),
      ...(told.view?.side && { side: told.view.side }),
    };
    const { photo } = await decode(await readFile(join(folder, `${name}.jpg`)));
    const truth = await sharp(join(folder, file)).toColourspace("b-w").raw().toBuffer();
    yield { name, deck, corners, photo, truth, about };
  }
}

/** Scenes that training never sees. */
export async function* testScenes(count: number, from = FIRST_TEST_SEED): AsyncGenerator<Case> {
  for (let seed = from; seed < from + 2 * count; seed += 2) {
    const scene = makeScene(seed, SCENE_DETAIL);
    const deck = describeDeck(scene.deckFile);
    const { columns, rows, mmPerCell } = gridOf(deck);
    const truth = new Uint8Array(columns * rows);
    for (let i = 0; i < truth.length; i++) {
      const at = [((i % columns) + 0.5) * mmPerCell, (Math.floor(i / columns) + 0.5) * mmPerCell] as const;
      truth[i] = classInPhoto(scene, photoPlace(scene.camera, at));
    }
    const corners = { corners: scene.fileCorners.map(([x, y]): [number, number] => [x, y]) };
    const { names } = scene.looks;
    const about = { fault: scene.work.fault, state: scene.work.state, ...names };
    yield { name: `${seed} ${scene.work.fault}`, deck, corners, photo: scene.photo, truth, about };
  }
}
