/** The vision code alone: reads the photo at argv[2] argv[3] times, in one process, and prints when it began and ended, ms, and the time of all cores it took, s. */
import { readFile } from "node:fs/promises";
import { decode } from "../../server/decode.ts";
import { openEyes } from "../../server/eyes.ts";
import { drawPictures } from "../../server/pictures.ts";
import { CornersFile } from "../../vision/contract/index.ts";
import { analyse, describeDeck, loadOpenCv } from "../../vision/index.ts";

const [, , path = "", times = "1"] = process.argv;
const bytes = await readFile(path);
const json = async (kind: string) => JSON.parse(await readFile(path.replace(/\.jpg$/, `.${kind}.json`), "utf8"));
const [deck, corners] = [describeDeck(await json("deck")), CornersFile.parse(await json("corners"))];
const { cv } = await loadOpenCv();
const engines = { cv, eyes: await openEyes() };

async function read(): Promise<void> {
  const { photo, sha256, takenAt } = await decode(bytes);
  const source = { name: path, sha256, takenAt };
  await drawPictures(
    photo,
    analyse(engines, photo, { deck, corners, notes: {}, source }, () => {}),
  );
}
await read(); // warm
const before = process.cpuUsage();
const began = Date.now();
for (let i = 0; i < Number(times); i++) await read();
const { user, system } = process.cpuUsage(before);
process.stdout.write(`${began} ${Date.now()} ${(user + system) / 1e6}\n`);
