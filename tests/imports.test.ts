import { existsSync, readdirSync, readFileSync, statSync } from "node:fs";
import { dirname, join, normalize } from "node:path";
import { fileURLToPath } from "node:url";
import { expect, it } from "vitest";

/** Who may import whom, as DEVELOPERS.md says. */

const root = fileURLToPath(new URL("../", import.meta.url));

interface Import {
  readonly from: string;
  /** A file of this repository, or a package's name. */
  readonly to: string;
  readonly isPackage: boolean;
  readonly typeOnly: boolean;
  readonly names: readonly string[];
}

const filesUnder = (folder: string): string[] =>
  readdirSync(join(root, folder), { recursive: true, encoding: "utf8" })
    .map((path) => `${folder}/${path.replaceAll("\\", "/")}`)
    .filter((path) => /\.(ts|mjs)$/.test(path) && !/\/(dist|node_modules)\//.test(path))
    .filter((path) => statSync(join(root, path)).isFile());

const STATEMENT = /^(?:import|export)\b(?:(?<what>[^"';=()]*?)\bfrom)?\s*"(?<to>[^"]+)"/gm;
const CALL = /\bimport\(\s*"(?<to>[^"]+)"/g;

function importsOf(from: string): Import[] {
  const text = readFileSync(join(root, from), "utf8").replace(/\/\*[\s\S]*?\*\//g, "");
  const found = [...text.matchAll(STATEMENT), ...text.matchAll(CALL)];
  return found.map(({ groups = {} }) => {
    const { to = "", what = "" } = groups;
    const isPackage = !to.startsWith(".");
    const names = [...what.matchAll(/(?:type\s+)?(\w+)(?:\s+as\s+\w+)?\s*(?=[,}])/g)].map(([, name = ""]) => name);
    const typeOnly = /^\s*type\b/.test(what);
    return { from, to: isPackage ? to : normalize(join(dirname(from), to)), isPackage, typeOnly, names };
  });
}

const imports = ["vision", "server", "web", "sample-images/making"].flatMap(filesUnder).flatMap(importsOf);
const within = (...folders: string[]) => imports.filter(({ from }) => folders.some((f) => from.startsWith(f)));
const say = (wrong: readonly Import[]) => wrong.map(({ from, to }) => `${from} → ${to}`);
/** Programs that run by hand on a developer's computer; they may use files and every package. */
const isProgram = ({ from }: Import) => from.startsWith("vision/training/");

it("sees the imports: one of each kind is found", () => {
  expect(imports).toContainEqual(
    expect.objectContaining({ from: "vision/rules.ts", to: "vision/sources.ts", names: ["SOURCES"] }),
  );
  expect(imports).toContainEqual(expect.objectContaining({ from: "vision/opencv.ts", to: "opencv-wasm" }));
  expect(imports).toContainEqual(expect.objectContaining({ from: "server/reader.worker.mjs" }));
});

it("imports nothing from outside the repository, and only files that are there", () => {
  const relative = imports.filter(({ isPackage }) => !isPackage);
  expect(say(relative.filter(({ to }) => to.startsWith("..")))).toEqual([]);
  const there = (to: string) => ["", ".ts", ".mjs"].some((end) => existsSync(join(root, to + end)));
  expect(say(relative.filter(({ to }) => !there(to)))).toEqual([]);
});

it("vision/ imports only itself, Zod in contract/, and each engine at its one door", () => {
  const doors: Record<string, (from: string) => boolean> = {
    zod: (from) => from.startsWith("vision/contract/"),
    "intl-messageformat": (from) => from === "vision/said.ts",
    "ml-matrix": (from) => from === "vision/accounts/linear-algebra.ts",
    jstat: (from) => from === "vision/accounts/odds.ts",
    papaparse: (from) => from === "vision/accounts/csv.ts",
    "opencv-wasm": (from) => from === "vision/opencv.ts",
    "js-aruco2": (from) => from.startsWith("vision/finding/"),
    "@tensorflow/tfjs": (from) => from === "vision/model/network.ts",
    "@tensorflow/tfjs-backend-wasm": (from) => from === "vision/model/network.ts",
  };
  const wrong = within("vision/").filter((one) => {
    if (isProgram(one)) return false;
    if (!one.isPackage) return !one.to.startsWith("vision/");
    return !doors[one.to]?.(one.from);
  });
  expect(say(wrong)).toEqual([]);
  for (const engine of Object.keys(doors).filter((name) => name !== "zod")) {
    const files = within("vision/").filter((one) => one.to === engine && !one.typeOnly && !isProgram(one));
    expect(files.length, `${engine} has one door: ${say(files).join(", ")}`).toBeLessThanOrEqual(1);
  }
});

it("nothing that runs imports the training programs", () => {
  expect(say(imports.filter((one) => one.to.startsWith("vision/training/") && !isProgram(one)))).toEqual([]);
});

it("server/ uses vision/ by its four doors and never the page", () => {
  const doors = ["vision/index.ts", "vision/contract/index.ts", "vision/accounts/index.ts", "vision/telling/index.ts"];
  const wrong = within("server/").filter(
    ({ to, isPackage }) => !isPackage && (to.startsWith("web/") || (to.startsWith("vision/") && !doors.includes(to))),
  );
  expect(say(wrong)).toEqual([]);
});

it("web/ uses itself, the contract, the way things are said and few packages; vision/ and its engines only where a photo is read, in a worker, and sums of the set-up at one door", () => {
  const packages = ["zod", "idb", "intl-messageformat", "tus-js-client"];
  const inWorker: Record<string, readonly string[]> = {
    "web/words.ts": ["vision/sentences/en.json"],
    "web/engines.ts": ["vision/index.ts", "@tensorflow/tfjs-backend-wasm"],
    "web/read-photo.ts": ["vision/index.ts", "@noble/hashes", "fast-png"],
    "web/camera-frames.ts": ["vision/index.ts"],
    "web/quick-look.ts": ["vision/index.ts"],
    "web/flat-deck.ts": ["vision/index.ts", "fast-png"],
    "web/case-zip.ts": ["@noble/hashes", "fflate"],
    "web/write-pdf.ts": ["dejavu-fonts-ttf", "pdfmake"],
    "web/open-photo.ts": ["@noble/hashes", "exifr"],
    // loaded when the material is asked for
    "web/known-materials.ts": ["vision/process/materials.ts"],
    // loaded when a reading is corrected
    "web/desk-classes.ts": ["fast-png"],
    "web/desk-sums.ts": ["vision/deck.ts", "vision/homography.ts", "vision/lens-bulge.ts"],
    // loaded when the practice deck is opened
    "web/practice-sums.ts": ["vision/twin/deck-load.ts", "vision/twin/practice.ts", "vision/twin/transport.ts"],
    // what is computed at the table, loaded when the set-up is opened
    "web/set-up-sums.ts": [
      "vision/advice/setup-guide.ts",
      "vision/deck.ts",
      "vision/errors.ts",
      "vision/process/float-test.ts",
      "vision/process/levelling.ts",
      "vision/process/phone-level.ts",
      "vision/process/range.ts",
      "vision/process/slope-units.ts",
      "vision/process/water-budget.ts",
    ],
  };
  const wrong = within("web/")
    .filter(({ from }) => from !== "web/vite.config.ts" && !from.startsWith("web/build/"))
    .filter(({ from, to, isPackage, typeOnly }) => {
      const own = inWorker[from] ?? [];
      if (isPackage) return ![...packages, ...own].some((name) => to === name || to.startsWith(`${name}/`));
      if (to.startsWith("web/") || to === "vision/contract/index.ts" || to === "vision/telling/index.ts") return false;
      return !own.includes(to) && !(typeOnly && to === "vision/index.ts");
    });
  expect(say(wrong)).toEqual([]);
});

/** All files that one file leads to, by imports and calls, but for those that `skip` holds. */
function reachedFrom(first: string, skip: readonly string[] = []): string[] {
  const reached = new Set([first]);
  for (const file of reached) {
    for (const { to, isPackage, typeOnly } of importsOf(file)) {
      if (!isPackage && !typeOnly && to.endsWith(".ts") && !skip.includes(to)) reached.add(to);
    }
  }
  return [...reached];
}

it("the page's first script never loads what only the worker or the set-up needs", () => {
  expect(readFileSync(join(root, "web/pages.ts"), "utf8")).toContain('import("./set-up.ts")');
  const later = [
    "web/set-up.ts",
    "web/deck-draft.ts",
    "web/known-materials.ts",
    "web/practice-page.ts",
    "web/review-desk.ts",
  ];
  const reached = reachedFrom("web/main.ts", later);
  expect(reached).toContain("web/reader.ts");
  const heavy = /worker|engines|case-zip|write-pdf|read-photo|open-photo|set-up-sums|^vision\/(?!(contract|telling)\/)/;
  expect(reached.filter((file) => heavy.test(file))).toEqual([]);
});

it("the set-up leads to sums and the guide alone: no pixels, no engine", () => {
  const reached = reachedFrom("web/set-up.ts");
  expect(reached).toContain("vision/process/float-test.ts");
  const pixels =
    /worker|engines|read-photo|^vision\/(opencv|index|analyse|rectify|light|segment|view|finding\/.*|model\/.*)\.ts$/;
  expect(reached.filter((file) => pixels.test(file))).toEqual([]);
});

it.each(["web/parts/", "server/routes/", "server/commands/"])("%s: none imports another", (folder) => {
  expect(within(folder).length).toBeGreaterThan(0);
  expect(say(within(folder).filter(({ to }) => to.startsWith(folder)))).toEqual([]);
});

it("no stage calls another: what analyse.ts calls from a stage's file, nobody else in vision/ calls", () => {
  const helpers = /^vision\/(stages|errors|geometry|deck|said|opencv|contract\/.*)\.ts$/;
  const verbs = importsOf("vision/analyse.ts")
    .filter(({ to, isPackage, typeOnly }) => !isPackage && !typeOnly && !helpers.test(to))
    .flatMap(({ to, names }) => names.filter((n) => /^[a-z]/.test(n)).map((name) => `${to} ${name}`));
  expect(verbs).toContain("vision/rectify.ts rectify");
  const wrong = within("vision/")
    .filter((one) => !isProgram(one) && !/^vision\/(analyse|index)\.ts$/.test(one.from))
    .filter(({ to, names }) => names.some((name) => verbs.includes(`${to} ${name}`)));
  expect(say(wrong)).toEqual([]);
});

it("rules see a reading, never pixels: nothing they import leads to the engine or to a stage that sees pixels", () => {
  const reached = new Set(["vision/rules.ts"]);
  for (const file of reached) {
    for (const { to, isPackage } of importsOf(file)) if (!isPackage) reached.add(to);
  }
  const pixels = /^vision\/(opencv|rectify|light|segment|appearance|texture|outlet|patches|view|analyse)\.ts$/;
  expect([...reached].filter((file) => pixels.test(file))).toEqual([]);
});

it("doors write names out", () => {
  const doors = ["vision", "server", "web"].flatMap(filesUnder).filter((file) => file.endsWith("/index.ts"));
  for (const door of doors) expect(readFileSync(join(root, door), "utf8"), door).not.toMatch(/^export \*/m);
});
