import sharp from "sharp";
import { fitHomography, loadOpenCv, project } from "../../vision/index.ts";
import { makeScene } from "../../vision/scene/index.ts";

/**
 * A photo of a deck that looks alike from both ends and both sides, so that nobody could say which way round it lies: each
 * spot is the mean of the four that a turn or a mirror would put there.
 *
 * @returns PNG, and its corners in order, photo pixels, first the one at the drive end on the wash-water side.
 */
export async function symmetricDeck(): Promise<{ png: Buffer; corners: readonly (readonly [number, number])[] }> {
  const { cv } = await loadOpenCv();
  const { photo, corners } = makeScene(1004, 2); // training never sees it
  const { width, height, rgba } = photo;
  const unit = [
    [0, 0],
    [1, 0],
    [1, 1],
    [0, 1],
  ] as const;
  const [toUnit, toPhoto] = [fitHomography(cv, corners, unit), fitHomography(cv, unit, corners)];
  const mixed = Uint8ClampedArray.from(rgba);
  const cell = (value: number, size: number) => Math.max(0, Math.min(size - 1, Math.floor(value)));
  const offset = (u: number, v: number) => {
    const [x, y] = project(toPhoto, [u, v]);
    return 4 * (cell(y, height) * width + cell(x, width));
  };
  for (let i = 0; i < width * height; i++) {
    const [u, v] = project(toUnit, [(i % width) + 0.5, Math.floor(i / width) + 0.5]);
    if (Math.min(u, v) < 0 || Math.max(u, v) > 1) continue;
    const alike = [offset(u, v), offset(1 - u, v), offset(u, 1 - v), offset(1 - u, 1 - v)];
    for (const c of [0, 1, 2]) mixed[4 * i + c] = alike.reduce((sum, at) => sum + rgba[at + c]!, 0) / alike.length;
  }
  const raw = { width, height, channels: 4 } as const;
  return { png: await sharp(mixed, { raw }).removeAlpha().png().toBuffer(), corners };
}
