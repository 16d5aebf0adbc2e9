/**
 * Sharpness of 64 × 64 pictures of 0 and 255, borders mirrored: squares of 8 px, or one upright edge before column 32;
 * Gaussian blur in px (cut at 6 sigma). Variance of the 4-neighbour Laplacian; mean of Gx² + Gy² by 3 × 3 Sobel,
 * unscaled; mean of (I[x + 2] − I[x])².
 *
 * Source: worked out with scipy 1.10.1; measures after Pech-Pacheco et al. (2000) and Pertuz et al. (2013), from memory.
 * Tolerance 1e-6 without blur, 1e-3 with.
 */
export const SHARPNESS: readonly {
  picture: "checker" | "step";
  blurPx: number;
  laplacianVariance: number;
  tenengrad: number;
  brenner: number;
}[] = [
  { picture: "checker", blurPx: 0, laplacianVariance: 34671.533203, tenengrad: 380497.851562, brenner: 14683.064516 },
  { picture: "checker", blurPx: 0.5, laplacianVariance: 14912.28977, tenengrad: 295270.889579, brenner: 10883.377686 },
  { picture: "checker", blurPx: 1, laplacianVariance: 1852.212897, tenengrad: 161123.679967, brenner: 5627.081038 },
  { picture: "checker", blurPx: 2, laplacianVariance: 269.871157, tenengrad: 57815.948704, brenner: 1978.083183 },
  { picture: "checker", blurPx: 4, laplacianVariance: 12.192355, tenengrad: 3806.77151, brenner: 127.388792 },
  { picture: "step", blurPx: 0, laplacianVariance: 2032.03125, tenengrad: 32512.5, brenner: 2097.580645 },
  { picture: "step", blurPx: 1, laplacianVariance: 126.902495, tenengrad: 16314.67126, brenner: 1052.559436 },
  { picture: "step", blurPx: 2, laplacianVariance: 17.364987, tenengrad: 8893.767136, brenner: 573.791428 },
  { picture: "step", blurPx: 4, laplacianVariance: 2.221759, tenengrad: 4550.25532, brenner: 293.564859 },
];
