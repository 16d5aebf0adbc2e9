/**
 * A pure function that keeps its last answer for each thing it is asked about, as long as that thing lives. A person who taps
 * asks much of the same deck again; what taps do not change is then there.
 *
 * @param make  Its answer must hang on nothing but what it is given, and must not be changed by whoever gets it.
 */
export function keeping<Of extends object, More extends readonly unknown[], Answer>(
  make: (of: Of, ...more: More) => Answer,
): (of: Of, ...more: More) => Answer {
  const kept = new WeakMap<Of, { readonly more: More; readonly answer: Answer }>();
  return (of, ...more) => {
    const last = kept.get(of);
    if (last?.more.every((one, i) => one === more[i])) return last.answer;
    const answer = make(of, ...more);
    kept.set(of, { more, answer });
    return answer;
  };
}
