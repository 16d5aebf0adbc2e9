/**
 * Made-up photos of running decks with exact truth, for testing only: see README.md here.
 * `npx tsx tests/third-maker/make.ts --out DIR [--count 64] [--first SEED] [--check] [--kind unusable]`. `--check` writes what the eye needs to check truth, into DIR/check.
 */
import { mkdir, writeFile } from "node:fs/promises";
import { getPriority, setPriority } from "node:os";
import { join } from "node:path";
import { parseArgs } from "node:util";
import sharp from "sharp";
import { lieOf, onDeck, see, stand } from "./camera.ts";
import { checkPicture } from "./check.ts";
import { coverDeck } from "./cover.ts";
import { phoneOf } from "./develop.ts";
import { aboutOf, deckFileOf, splittersOf } from "./papers.ts";
import { plan } from "./scenario.ts";
import { shoot } from "./shoot.ts";
import { classesOf, seenIn } from "./truth.ts";
import { makeUnusable } from "./unusable.ts";

const { values } = parseArgs({
  options: {
    out: { type: "string" },
    count: { type: "string", default: "64" },
    first: { type: "string", default: "1" },
    kind: { type: "string", default: "usable" },
    check: { type: "boolean", default: false },
  },
});
if (!values.out) throw new Error("say where the pictures go: --out DIR");
// others work on this computer too; the ray tracer inherits this
setPriority(Math.max(10, getPriority()));
const out = values.out;
await mkdir(values.check ? join(out, "check") : out, { recursive: true });
const [first, count] = [Number(values.first), Number(values.count)];
for (let seed = first; seed < first + count; seed++) {
  const started = Date.now();
  const say = values.kind === "unusable" ? await makeUnusable(seed, out) : await makePicture(seed);
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
  const phone = phoneOf(scene.dice.on("phone"), scene.light);
  const { jpeg, photo, places } = await shoot(scene, camera, cover, splitters, phone);
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
  if (values.check) await checkPicture(join(out, "check", name), photo, truth, cover.columns, cover.rows, toPhoto);
  return `${name}  ${camera.width} × ${camera.height}  ${about.title}  ${scene.light}  ${scene.fault}  places off ${places.offMm.toFixed(2)} mm`;
}
