/** How rough a surface looks around each cell: window means, local binary patterns, grey-level co-occurrence. */

/**
 * Sum over the square window around each cell, clipped to the picture, in the same time for any radius.
 *
 * @param trimRight  Leave out this many of the window's last columns, `trimBottom` of its last rows: for values that
 *                   belong to a pair of cells and are kept at the first of the two.
 */
function boxSum(
  plane: ArrayLike<number>,
  width: number,
  height: number,
  radius: number,
  trimRight = 0,
  trimBottom = 0,
): Float64Array {
  const sums = new Float64Array(width * height);
  const columns = new Float64Array(width); // sum down each column over the rows now in the window
  let top = 0;
  let bottom = 0; // rows top … bottom − 1 are in `columns`
  for (let y = 0; y < height; y++) {
    const lastRow = Math.min(height, y + radius + 1) - trimBottom;
    for (; bottom < lastRow; bottom++) {
      for (let x = 0, i = bottom * width; x < width; x++, i++) columns[x]! += plane[i]!;
    }
    for (; top < y - radius; top++) {
      for (let x = 0, i = top * width; x < width; x++, i++) columns[x]! -= plane[i]!;
    }
    let sum = 0;
    let right = 0;
    for (let x = 0, i = y * width; x < width; x++, i++) {
      const lastColumn = Math.min(width, x + radius + 1) - trimRight;
      for (; right < lastColumn; right++) sum += columns[right]!;
      if (x > radius) sum -= columns[x - radius - 1]!;
      sums[i] = sum;
    }
  }
  return sums;
}

/**
 * Mean over the window of `2 · radius + 1` cells a side around each cell, clipped to the picture.
 *
 * @param plane  `height × width`. Not modified. May hold anything, NaN too, where `mask` is 0.
 * @param mask  1 where a cell counts; left out, every cell does.
 * @returns `height × width`; 0 where no cell of the window counts.
 */
export function boxMean(
  plane: Float32Array,
  width: number,
  height: number,
  radius: number,
  mask?: Uint8Array,
): Float32Array {
  const cells = width * height;
  const values = new Float32Array(cells);
  const counted = new Uint8Array(cells);
  for (let i = 0; i < cells; i++) {
    if (mask && !mask[i]) continue;
    values[i] = plane[i]!;
    counted[i] = 1;
  }
  const sums = boxSum(values, width, height, radius);
  const counts = boxSum(counted, width, height, radius);
  const means = new Float32Array(cells);
  for (let i = 0; i < cells; i++) means[i] = counts[i] ? sums[i]! / counts[i]! : 0;
  return means;
}

/** How far along its axes a point on the unit circle at 45° lies: the diagonal samples fall between four cells. */
const DIAGONAL = Math.SQRT1_2;

/** For 8 bits round a circle: how many are 1 when they change at most twice round it, else 9. */
const UNIFORM_CODE = Uint8Array.from({ length: 256 }, (_, bits) => {
  let ones = 0;
  let changes = 0;
  for (let k = 0; k < 8; k++) {
    const bit = (bits >> k) & 1;
    ones += bit;
    changes += bit ^ ((bits >> ((k + 1) & 7)) & 1);
  }
  return changes <= 2 ? ones : 9;
});

/**
 * Rotation-invariant uniform local binary pattern of each cell: 8 samples on a circle of radius 1, bilinear on the
 * diagonals, a bit set where the sample is at least the centre. Outside the picture counts as 0.
 *
 * @returns Codes: 0 a bright spot, 4 a straight edge, 8 flat or a dark spot, 9 none of these.
 *
 * Source: Ojala, Pietikäinen & Mäenpää (2002), IEEE PAMI 24 (7), 971–987 (LBP riu2; from memory). Samples are compared
 * as differences from the centre, so that rounding cannot break a tie on a flat surface.
 */
export function localBinaryPatterns(grey: Float32Array, width: number, height: number): Uint8Array {
  const stride = width + 2;
  const padded = new Float32Array(stride * (height + 2));
  for (let y = 0; y < height; y++) padded.set(grey.subarray(y * width, (y + 1) * width), (y + 1) * stride + 1);
  const codes = new Uint8Array(width * height);
  for (let y = 0, i = 0; y < height; y++) {
    for (let x = 0, p = (y + 1) * stride + 1; x < width; x++, i++, p++) {
      const centre = padded[p]!;
      const right = padded[p + 1]! - centre;
      const up = padded[p - stride]! - centre;
      const left = padded[p - 1]! - centre;
      const down = padded[p + stride]! - centre;
      const bits =
        (right >= 0 ? 1 : 0) |
        (diagonal(right, up, padded[p - stride + 1]! - centre) >= 0 ? 2 : 0) |
        (up >= 0 ? 4 : 0) |
        (diagonal(up, left, padded[p - stride - 1]! - centre) >= 0 ? 8 : 0) |
        (left >= 0 ? 16 : 0) |
        (diagonal(left, down, padded[p + stride - 1]! - centre) >= 0 ? 32 : 0) |
        (down >= 0 ? 64 : 0) |
        (diagonal(down, right, padded[p + stride + 1]! - centre) >= 0 ? 128 : 0);
      codes[i] = UNIFORM_CODE[bits]!;
    }
  }
  return codes;
}

/** Sign of the bilinear sample between a centre of 0, its two straight neighbours and the corner cell. */
const diagonal = (one: number, other: number, corner: number) => (1 - DIAGONAL) * (one + other) + DIAGONAL * corner;

/**
 * Contrast of the grey-level co-occurrence matrix of the window around each cell, Σ p (i − j)², clipped to the picture:
 * neighbours at distance 1, both of them in the window; the mean of the four directions' values.
 *
 * It is a mean over pairs of a function of the pair's difference, so running sums give it without a matrix.
 *
 * @param levels  `height × width` grey levels, at most 255. Not modified.
 * @param radius  At least 1: the window is `2 · radius + 1` cells a side.
 * @returns `contrast`: 0 where all neighbours are alike, or where the picture is too small to hold a pair.
 *
 * Source: Haralick, Shanmugam & Dinstein (1973), IEEE SMC 3 (6), 610–621, feature 2.
 */
export function cooccurrenceTexture(
  levels: Uint8Array,
  width: number,
  height: number,
  radius: number,
): { readonly contrast: Float32Array } {
  const cells = width * height;
  const contrast = new Float32Array(cells);
  const directions = new Uint8Array(cells);
  // Each pair is kept at its top left cell, the two diagonals together; it counts where the window holds both its cells.
  for (const [right, down] of [
    [1, 0],
    [0, 1],
    [1, 1],
  ] as const) {
    const squares = new Float32Array(cells);
    for (let y = 0; y < height - down; y++) {
      for (let x = 0, i = y * width; x < width - right; x++, i++) {
        squares[i]! += (levels[i]! - levels[i + down * width + right]!) ** 2;
        if (right && down) squares[i]! += (levels[i + 1]! - levels[i + width]!) ** 2;
      }
    }
    const sums = boxSum(squares, width, height, radius, right, down);
    for (let y = 0, i = 0; y < height; y++) {
      const tall = Math.min(height - 1, y + radius) - Math.max(0, y - radius) + 1 - down;
      for (let x = 0; x < width; x++, i++) {
        const wide = Math.min(width - 1, x + radius) - Math.max(0, x - radius) + 1 - right;
        if (tall * wide === 0) continue;
        contrast[i]! += sums[i]! / (tall * wide);
        directions[i]! += right + down;
      }
    }
  }
  for (let i = 0; i < cells; i++) contrast[i] = directions[i] ? contrast[i]! / directions[i]! : 0;
  return { contrast };
}
