/** The only door to ml-matrix: no method of linear algebra is our own. */
import { EigenvalueDecomposition, Matrix, SingularValueDecomposition, solve } from "ml-matrix";

export { EigenvalueDecomposition, Matrix, solve };

/** Singular values below this share of the matrix's size count as 0. */
const ZERO = 1e-10;

export interface Parts {
  /** Moore-Penrose inverse, columns × rows. */
  readonly inverse: Matrix;
  readonly rank: number;
  /** How far each column's unknown may move without any row noticing, 0 to 1; 0: the rows tell it. */
  readonly loose: readonly number[];
}

/**
 * Take a matrix apart by its singular values; any shape, also without rows or columns.
 *
 * @param size  What its values are small or large beside: its own norm, or that of the one it came from, when most of it
 *              may have been projected away.
 */
export function takeApart(matrix: Matrix, size = matrix.norm()): Parts {
  const { rows, columns } = matrix;
  const inverse = Matrix.zeros(columns, rows);
  if (rows === 0 || columns === 0) return { inverse, rank: 0, loose: new Array<number>(columns).fill(1) };
  const svd = new SingularValueDecomposition(matrix, { autoTranspose: true });
  const [left, right, sizes] = [svd.leftSingularVectors, svd.rightSingularVectors, svd.diagonal];
  const kept = sizes.flatMap((value, i) => (value > ZERO * size ? [i] : []));
  for (const i of kept) {
    const [across, down] = [right.getColumnVector(i), left.getColumnVector(i).transpose()];
    inverse.add(across.mmul(down).div(sizes[i]!));
  }
  const told = Array.from({ length: columns }, (_, c) => Math.hypot(...kept.map((i) => right.get(c, i))));
  return { inverse, rank: kept.length, loose: told.map((t) => Math.sqrt(Math.max(0, 1 - t * t))) };
}
