import { readdir } from "node:fs/promises";
import { basename, join } from "node:path";
import { z } from "zod";
import { CornersFile, DeckFile, type Sample } from "../vision/contract/index.ts";
import { readJsonIfThere } from "./json-file.ts";

const About = z.object({ title: z.string().optional() });

/** The sample photos of a folder, by name, each with its deck and corners where there are some. */
export async function listSamples(folder: string): Promise<Sample[]> {
  const files = await readdir(folder).catch(() => [] as string[]);
  const photos = files.filter((file) => /^[\w.-]+\.jpe?g$/i.test(file) && !/\.overlay\.jpe?g$/i.test(file)).sort();
  return Promise.all(
    photos.map(async (file) => {
      const name = basename(file).replace(/\.jpe?g$/i, "");
      const beside = (kind: string) => join(folder, `${name}.${kind}.json`);
      const about = await readJsonIfThere(beside("about"), About, "description");
      return {
        name,
        title: about?.title ?? name,
        photoUrl: `/samples/${file}`,
        deck: await readJsonIfThere(beside("deck"), DeckFile, "deck file"),
        corners: await readJsonIfThere(beside("corners"), CornersFile, "corners file"),
      };
    }),
  );
}
