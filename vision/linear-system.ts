/** Gaussian elimination of a small, well-posed system given with its right-hand side in the last column. */
export function solve(system: number[][]): number[] {
  const n = system.length;
  for (let k = 0; k < n; k++) {
    for (let r = k + 1; r < n; r++) {
      const f = system[r]![k]! / system[k]![k]!;
      for (let c = k; c <= n; c++) system[r]![c]! -= f * system[k]![c]!;
    }
  }
  const x = new Array<number>(n).fill(0);
  for (let k = n - 1; k >= 0; k--) {
    let sum = system[k]![n]!;
    for (let c = k + 1; c < n; c++) sum -= system[k]![c]! * x[c]!;
    x[k] = sum / system[k]![k]!;
  }
  return x;
}
