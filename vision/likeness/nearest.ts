/** The `most` nearest of many vectors, laid one after the other, the nearest first: an exact search through all of them. */
export function nearest(
  all: Float32Array,
  query: Float32Array,
  most: number,
): { readonly at: number; readonly distance: number }[] {
  const size = query.length;
  const found: { at: number; distance: number }[] = [];
  let worst = Number.POSITIVE_INFINITY;
  for (let at = 0, i = 0; i + size <= all.length; at++, i += size) {
    let sum = 0;
    for (let k = 0; k < size && sum < worst; k++) {
      const apart = all[i + k]! - query[k]!;
      sum += apart * apart;
    }
    if (sum >= worst) continue;
    const before = found.findIndex(({ distance }) => distance > sum);
    found.splice(before < 0 ? found.length : before, 0, { at, distance: sum });
    if (found.length > most) found.pop();
    if (found.length === most) worst = found.at(-1)!.distance;
  }
  return found.map(({ at, distance }) => ({ at, distance: Math.sqrt(distance) }));
}
