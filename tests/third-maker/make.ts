/**
 * Made-up photos of running decks with exact truth, for testing only: see README.md here.
 * `npx tsx tests/third-maker/make.ts --out DIR [--count 64] [--first SEED] [--check]`. `--check` writes what the eye needs to check truth.
 */
import { execFile } from "node:child_process";
import { mkdir, mkdtemp, readFile, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { parseArgs, promisify } from "node:util";
import sharp from "sharp";
import { lieOf, onDeck, see, stand } from "./camera.ts";
import { checkPicture } from "./check.ts";
import { coverDeck } from "./cover.ts";
import { develop, parsePpm, phoneOf, throughLens } from "./develop.ts";
import { paintDeck, savePaint } from "./paint.ts";
import { aboutOf, deckFileOf, splittersOf } from "./papers.ts";
import { placesIn } from "./places.ts";
import { plan } from "./scenario.ts";
import { sceneFiles } from "./scene-pov.ts";
import { classesOf, seenIn } from "./truth.ts";

/** Traced pixels for one of the photo's: smooths edges at less cost than casting rays again where they show. */
const FINER = 1.05;
const run = promisify(execFile);
const { values } = parseArgs({
  options: {
    out: { type: "string" },
    count: { type: "string", default: "64" },
    first: { type: "string", default: "1" },
    check: { type: "boolean", default: false },
  },
});
if (!values.out) throw new Error("say where the pictures go: --out DIR");
const out = values.out;
await mkdir(out, { recursive: true });
const [first, count] = [Number(values.first), Number(values.count)];
for (let seed = first; seed < first + count; seed++) {
  const started = Date.now();
  const say = await makePicture(seed);
  console.log(`${say}  ${((Date.now() - started) / 1000).toFixed(0)} s`);
}

async function makePicture(seed: number): Promise<string> {
  const scene = plan(seed);
  const { table } = scene;
  const lie = lieOf(table);
  const camera = stand(scene.dice.on("stand"), table, lie);
  const cover = coverDeck(scene);
  const ids = classesOf(cover, table);
  const splitters = splittersOf(scene, ids, cover.columns);
  const folder = await mkdtemp(join(tmpdir(), "third-"));
  try {
    const perMm = table.lengthMm > 1600 ? 1 : 1.4;
    const rangeMm = await savePaint(paintDeck(scene, cover, perMm), folder);
    const files = sceneFiles(
      scene,
      camera,
      lie,
      splitters.map(({ atMm }) => atMm),
      { perMm, rangeMm },
    );
    await writeFile(join(folder, "photo.pov"), files.photo);
    await writeFile(join(folder, "places.pov"), files.places);
    const places = placesIn(parsePpm(await trace(folder, "places", camera.width, camera.height)), table, camera, lie);
    const traced = throughLens(
      parsePpm(await trace(folder, "photo", Math.round(camera.width * FINER), Math.round(camera.height * FINER))),
      camera,
    );
    const phone = phoneOf(scene.dice.on("phone"), scene.light);
    const developed = develop(traced, places.mask, phone, scene.dice.on("grain of the photo"));
    const raw = { width: developed.width, height: developed.height, channels: 3 as const };
    const jpeg = await sharp(developed.rgb, { raw })
      .jpeg({ quality: phone.quality, chromaSubsampling: "4:2:0" })
      .toBuffer();
    const photo = { ...developed, rgb: new Uint8Array(await sharp(jpeg).removeAlpha().raw().toBuffer()) };
    const toPhoto = (x: number, y: number) => see(camera, onDeck(lie, x, y));
    const truth = seenIn(ids, cover.columns, photo, toPhoto, places.deckAt);
    const name = `third-${String(seed).padStart(4, "0")}`;
    const corners = table.outline.map(([x, y]) => toPhoto(x, y).map((p) => Math.round(p * 1000) / 1000));
    await writeFile(join(out, `${name}.jpg`), jpeg);
    await writeFile(join(out, `${name}.deck.json`), `${JSON.stringify(deckFileOf(scene, splitters), null, 2)}\n`);
    await writeFile(join(out, `${name}.corners.json`), `${JSON.stringify({ corners })}\n`);
    await sharp(truth, { raw: { width: cover.columns, height: cover.rows, channels: 1 } })
      .toColourspace("b-w")
      .png()
      .toFile(join(out, `${name}.truth.png`));
    const about = aboutOf(scene, camera, truth, places.offMm);
    await writeFile(join(out, `${name}.about.json`), `${JSON.stringify(about, null, 2)}\n`);
    if (values.check) await checkPicture(join(out, name), photo, truth, cover.columns, cover.rows, toPhoto);
    return `${name}  ${camera.width} × ${camera.height}  ${about.title}  ${scene.light}  ${scene.fault}  places off ${places.offMm.toFixed(2)} mm`;
  } finally {
    if (process.env.KEEP_SCENES) console.log(folder);
    else await rm(folder, { recursive: true });
  }
}

/** One thread, at low priority. Returns the picture's bytes. */
async function trace(folder: string, name: string, width: number, height: number) {
  const options = [
    `+I${name}.pov`,
    `+O${name}.ppm`,
    `+W${width}`,
    `+H${height}`,
    "+FP16",
    "File_Gamma=1.0",
    "-D",
    "-GA",
    "+WT1",
    "+BM2",
  ];
  try {
    await run("nice", ["-n", "10", "povray", ...options], { cwd: folder, maxBuffer: 2 ** 26 });
  } catch (error) {
    const said = (error as { stderr?: string }).stderr ?? String(error);
    throw new Error(`povray failed on ${name}.pov (is Debian's package povray installed?): ${said.slice(-1500)}`);
  }
  return readFile(join(folder, `${name}.ppm`));
}
