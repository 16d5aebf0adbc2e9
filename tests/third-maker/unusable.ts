/** Photos that nobody can read, to see that they are refused. */
import { writeFile } from "node:fs/promises";
import { join } from "node:path";
import { add, type Camera, cross, lieOf, onDeck, see, stand, unit } from "./camera.ts";
import { coverDeck } from "./cover.ts";
import { type Phone, phoneOf } from "./develop.ts";
import { deckFileOf, splittersOf } from "./papers.ts";
import { plan } from "./scenario.ts";
import { shoot } from "./shoot.ts";
import { classesOf } from "./truth.ts";

export const UNUSABLE = ["no deck", "too dark", "burnt out", "strong blur", "cut off", "far too small"] as const;
type Unusable = (typeof UNUSABLE)[number];

/** Writes NAME.jpg and NAME.about.json; where a deck is there, its deck and corners files too. */
export async function makeUnusable(seed: number, folder: string): Promise<string> {
  const kind = UNUSABLE[seed % UNUSABLE.length]!;
  const scene = plan(seed);
  const { table } = scene;
  const lie = lieOf(table);
  const dice = scene.dice.on("unusable");
  const camera = turned(stand(scene.dice.on("stand"), table, lie), kind, dice.between(0, 1));
  const cover = coverDeck(scene);
  const splitters = splittersOf(scene, classesOf(cover, table), cover.columns);
  const phone = spoilt(phoneOf(scene.dice.on("phone"), scene.light), kind, dice.between(0, 1));
  const { jpeg } = await shoot(scene, camera, kind === "no deck" ? null : cover, splitters, phone);
  const name = `unusable-${String(seed).padStart(4, "0")}`;
  const write = (end: string, what: unknown) =>
    writeFile(join(folder, `${name}.${end}`), `${JSON.stringify(what, null, 2)}\n`);
  await writeFile(join(folder, `${name}.jpg`), jpeg);
  if (kind !== "no deck") {
    await write("deck.json", deckFileOf(scene, splitters));
    await write("corners.json", { corners: table.outline.map(([x, y]) => see(camera, onDeck(lie, x, y))) });
  }
  const maker = "tests/third-maker, POV-Ray 3.7";
  await write("about.json", {
    title: `Unusable: ${kind}`,
    unusable: kind,
    seed,
    made: "rendered",
    maker,
    licence: "CC0-1.0",
  });
  return `${name}  ${kind}`;
}

/** @param much  0 to 1: how far past use. */
function turned(camera: Camera, kind: Unusable, much: number): Camera {
  if (kind === "far too small") return { ...camera, focalPx: camera.focalPx * (0.2 - 0.08 * much) };
  if (kind !== "cut off") return camera;
  const aside = (0.75 + 0.35 * much) * (camera.width / 2 / camera.focalPx) * (much > 0.5 ? 1 : -1);
  const forward = unit(add(camera.forward, camera.right, aside));
  const right = unit(cross(forward, [-camera.down[0], -camera.down[1], -camera.down[2]]));
  return { ...camera, forward, right, down: cross(forward, right) };
}

function spoilt(phone: Phone, kind: Unusable, much: number): Phone {
  if (kind === "too dark")
    return { ...phone, exposure: 0.012 - 0.008 * much, noise: phone.noise * 0.25, stretched: false };
  if (kind === "burnt out") return { ...phone, exposure: 14 + 20 * much, contrast: 1.15, stretched: false };
  if (kind === "strong blur") return { ...phone, blurPx: 16 + 14 * much };
  return phone;
}
