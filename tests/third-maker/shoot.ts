/** Scene → JPEG, by way of the ray tracer, in a folder that is gone afterwards. */
import { execFile } from "node:child_process";
import { mkdtemp, readFile, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { promisify } from "node:util";
import sharp from "sharp";
import { type Camera, lieOf } from "./camera.ts";
import type { Cover } from "./cover.ts";
import { develop, type Phone, parsePpm, throughLens } from "./develop.ts";
import { paintDeck, savePaint } from "./paint.ts";
import { type Places, placesIn } from "./places.ts";
import type { Scenario } from "./scenario.ts";
import { sceneFiles } from "./scene-pov.ts";
import type { Picture } from "./truth.ts";

/** Traced pixels for one of the photo's: smooths edges at less cost than casting rays again where they show. */
const FINER = 1.05;
const run = promisify(execFile);

export interface Shot {
  readonly jpeg: Buffer;
  /** The JPEG's own pixels. */
  readonly photo: Picture;
  readonly places: Places;
}

/** @param cover  null: the plant without the table. */
export async function shoot(
  scene: Scenario,
  camera: Camera,
  cover: Cover | null,
  splitters: readonly { atMm: number }[],
  phone: Phone,
): Promise<Shot> {
  const { table } = scene;
  const lie = lieOf(table);
  const folder = await mkdtemp(join(tmpdir(), "third-shot-"));
  try {
    const perMm = table.lengthMm > 1600 ? 1 : 1.4;
    const rangeMm = cover ? await savePaint(paintDeck(scene, cover, perMm), folder) : 0;
    const outletMm = splitters.map(({ atMm }) => atMm);
    const files = sceneFiles(scene, camera, lie, outletMm, cover ? { perMm, rangeMm } : null);
    await writeFile(join(folder, "photo.pov"), files.photo);
    await writeFile(join(folder, "places.pov"), files.places);
    const places = placesIn(parsePpm(await trace(folder, "places", camera.width, camera.height)), table, camera, lie);
    const finer = [camera.width, camera.height].map((n) => Math.round(n * FINER)) as [number, number];
    const traced = throughLens(parsePpm(await trace(folder, "photo", ...finer)), camera);
    const developed = develop(traced, places.mask, phone, scene.dice.on("grain of the photo"));
    const raw = { width: developed.width, height: developed.height, channels: 3 as const };
    const jpeg = await sharp(developed.rgb, { raw })
      .jpeg({ quality: phone.quality, chromaSubsampling: "4:2:0" })
      .toBuffer();
    const rgb = new Uint8Array(await sharp(jpeg).removeAlpha().raw().toBuffer());
    return { jpeg, photo: { ...developed, rgb }, places };
  } finally {
    await rm(folder, { recursive: true });
  }
}

/** One thread. Returns the picture's bytes. */
async function trace(folder: string, name: string, width: number, height: number): Promise<Buffer> {
  const size = [`+W${width}`, `+H${height}`];
  const options = [`+I${name}.pov`, `+O${name}.ppm`, ...size, "+FP16", "File_Gamma=1.0", "-D", "-GA", "+WT1", "+BM2"];
  try {
    await run("povray", options, { cwd: folder, maxBuffer: 2 ** 26 });
  } catch (error) {
    const said = (error as { stderr?: string }).stderr ?? String(error);
    throw new Error(`povray failed on ${name}.pov (is Debian's package povray installed?): ${said.slice(-1500)}`);
  }
  return readFile(join(folder, `${name}.ppm`));
}
