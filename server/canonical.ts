/** The same text for the same document, in whatever order its fields stand. */
export function canonical(value: unknown): string {
  if (Array.isArray(value)) return `[${value.map(canonical).join()}]`;
  if (typeof value !== "object" || value === null) return JSON.stringify(value);
  const fields = Object.entries(value).sort(([a], [b]) => (a < b ? -1 : 1));
  return `{${fields.map(([name, inner]) => `${JSON.stringify(name)}:${canonical(inner)}`).join()}}`;
}
