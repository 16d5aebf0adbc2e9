import { readFile } from "node:fs/promises";
import { expect, it, vi } from "vitest";
import { decode } from "../../server/decode.ts";
import { openEyes } from "../../server/eyes.ts";
import { CornersFile, DeckFile } from "../../vision/contract/index.ts";
import { analyse, describeDeck, loadOpenCv, lookAtDeck, readSight } from "../../vision/index.ts";
import type { Notes } from "../../vision/stages.ts";

vi.setConfig({ testTimeout: 120_000 });

const file = async (kind: string) => readFile(new URL(`../../sample-images/garnet-rill.${kind}`, import.meta.url));
const json = async (kind: string) => JSON.parse((await file(`${kind}.json`)).toString());

it("a photo looked at once is read with other taps as if it were read anew, and sooner", async () => {
  const [{ cv }, eyes] = [await loadOpenCv(), await openEyes()];
  const engines = { cv, eyes };
  const { photo } = await decode(await file("jpg"));
  const deck = describeDeck(DeckFile.parse(await json("deck")));
  const corners = CornersFile.parse(await json("corners"));
  const source = { name: "garnet-rill", sha256: "0".repeat(64), takenAt: null };
  const at = (x: number, y: number): [number, number] => [photo.width * x, photo.height * y];
  const said: Notes[] = [
    {},
    {
      taps: [
        { at: at(0.5, 0.5), class: "dense" },
        { at: at(0.6, 0.55), class: "light" },
      ],
    },
    { profile: { light: { look: { tone: "dark" } } }, taps: [{ at: at(0.5, 0.5), class: "dry" }] },
  ];
  const sight = lookAtDeck(engines, photo, { deck, corners, firstCorner: undefined });
  let kept = 0;
  let anew = 0;
  for (const notes of said) {
    const start = performance.now();
    const again = readSight(engines, photo, sight, { notes, source });
    const middle = performance.now();
    const fresh = analyse(engines, photo, { deck, corners, notes, source });
    kept += middle - start;
    anew += performance.now() - middle;
    expect(again.reading).toEqual(fresh.reading);
    expect(again.classes!.labels).toEqual(fresh.classes!.labels);
  }
  expect(kept).toBeLessThan(anew);
});
