// Stands in for reader.worker.mjs and does what a reading process should seldom do: a photo's name says what happens to it.

export const warm = () => ({ value: undefined });
export const checkDeck = () => ({ value: undefined });
export const receive = () => ({
  value: { format: "jpeg", widthPx: 400, heightPx: 330, takenAt: null, jpeg: new Uint8Array([0xff, 0xd8]) },
});
export const refuse = ({ source, why }) => ({
  value: { reading: reading(source.name, why), pictures: null, problem: why },
});

export function read({ name }) {
  if (name.startsWith("hang")) {
    process.send({ stage: "photo" });
    for (;;);
  }
  if (name.startsWith("crash")) process.exit(3);
  if (name.startsWith("abort")) process.abort(); // as a native decoder that writes where it must not
  if (name.startsWith("throw")) throw new Error("thrown in the process");
  if (name.startsWith("fault")) return { trouble: { code: "internal", message: "TypeError: x is not a function" } };
  process.send({ stage: "photo" });
  process.send({ stage: "view" });
  return { value: { reading: reading(name, null), pictures: null, problem: null } };
}

const reading = (name, why) => ({
  schemaVersion: 1,
  photo: { name, sha256: "0".repeat(64), widthPx: why ? null : 400, heightPx: why ? null : 330, takenAt: null },
  madeBy: { version: "0.0.0", model: "none" },
  scale: "assumed",
  deckState: "unknown",
  quality: { usable: !why, issues: why ? [{ kind: "engine", say: why.message }] : [] },
  view: null,
  grid: null,
  cover: null,
  bands: [],
  outletUnseenMm: [],
  dryPatches: [],
  rills: [],
  splitters: [],
  launders: [],
  advice: [],
});
