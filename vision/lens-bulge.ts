import type { Pair } from "./geometry.ts";
import type { Photo } from "./stages.ts";

/** Take the bulge out of a pixel: `centre + (p − centre)·(1 + lens·r²)`, r in half-diagonals. */
export function straighten({ width, height }: Pick<Photo, "width" | "height">, lens: number, [x, y]: Pair): Pair {
  const [cx, cy] = [width / 2, height / 2];
  const r2 = ((x - cx) ** 2 + (y - cy) ** 2) / (cx * cx + cy * cy);
  return [cx + (x - cx) * (1 + lens * r2), cy + (y - cy) * (1 + lens * r2)];
}

/** Put the bulge back: the pixel whose straightened place this is. Fixed-point steps; converges for |lens| < 0.3. */
export function bend(photo: Pick<Photo, "width" | "height">, lens: number, [x, y]: Pair): Pair {
  const [cx, cy] = [photo.width / 2, photo.height / 2];
  let at: Pair = [x, y];
  for (let i = 0; lens !== 0 && i < 12; i++) {
    const r2 = ((at[0] - cx) ** 2 + (at[1] - cy) ** 2) / (cx * cx + cy * cy);
    at = [cx + (x - cx) / (1 + lens * r2), cy + (y - cy) / (1 + lens * r2)];
  }
  return at;
}
