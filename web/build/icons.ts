import { readFileSync } from "node:fs";
import { join } from "node:path";
import sharp from "sharp";
import type { Plugin } from "vite";

const INK = "#101418";

/** Icons for home screens, as `manifest.webmanifest` and `index.html` name them, from the one drawing. */
export function icons(): Plugin {
  let publicDir = "";
  return {
    name: "icons",
    configResolved: (config) => {
      publicDir = config.publicDir;
    },
    async generateBundle() {
      const drawing = readFileSync(join(publicDir, "icon.svg"));
      for (const side of [180, 192, 512]) {
        this.emitFile({ type: "asset", fileName: `icon-${side}.png`, source: await drawn(drawing, side, side) });
      }
      // what is cut to a circle or another shape keeps its middle 80 %
      const source = await drawn(drawing, 512, Math.round(512 * 0.7));
      this.emitFile({ type: "asset", fileName: "icon-maskable-512.png", source });
    },
  };
}

async function drawn(drawing: Buffer, side: number, drawingSide: number): Promise<Buffer> {
  const inner = await sharp(drawing, { density: 72 * 16 })
    .resize(drawingSide, drawingSide)
    .png()
    .toBuffer();
  const ground = sharp({ create: { width: side, height: side, channels: 4, background: INK } });
  return ground
    .composite([{ input: inner }])
    .flatten()
    .png()
    .toBuffer();
}
