import { readdirSync } from "node:fs";
import { fileURLToPath } from "node:url";
import sharp from "sharp";
import type { Plugin } from "vite";

const SAMPLES = fileURLToPath(new URL("../../sample-images/", import.meta.url));
/** Twice as wide as it is shown on a phone, px. */
const WIDTH_PX = 340;

/** A small view of each sample photo, which the list of samples shows: `sample-views/NAME.webp`. */
export function sampleViews(): Plugin {
  return {
    name: "sample-views",
    async generateBundle() {
      for (const file of readdirSync(SAMPLES).filter((name) => name.endsWith(".jpg"))) {
        const source = await sharp(`${SAMPLES}${file}`)
          .rotate()
          .resize(WIDTH_PX, WIDTH_PX * 0.6, { fit: "cover" })
          .webp({ quality: 60 })
          .toBuffer();
        this.emitFile({ type: "asset", fileName: `sample-views/${file.replace(/jpg$/, "webp")}`, source });
      }
    },
  };
}
