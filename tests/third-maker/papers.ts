/** The files beside a photo, as the contract has them. */
import { DeckFile } from "../../vision/contract/index.ts";
import { type Camera, lieOf, mmPerPixel } from "./camera.ts";
import { MM_PER_CELL } from "./cover.ts";
import type { Scenario } from "./scenario.ts";
import { rightAt } from "./tables.ts";

export interface SplitterAt {
  readonly name: string;
  readonly between: ["dense", "middling"] | ["middling", "light"] | ["dense", "light"];
  /** Outlet mm. */
  readonly atMm: number;
}

/** Where people left the splitters: near where the bands part, seldom quite there. */
export function splittersOf(scene: Scenario, ids: Uint8Array, columns: number): SplitterAt[] {
  const { table, dice } = scene;
  const chance = dice.on("splitters");
  const rows = ids.length / columns;
  const [, hp, lp] = table.outline;
  const end = Math.hypot(lp[0] - hp[0], lp[1] - hp[1]);
  const lowest: Record<number, number> = {};
  for (let y = 0; y < rows; y++) {
    const mm = (y + 0.5) * MM_PER_CELL;
    const x = Math.floor((rightAt(table, mm) - 15) / MM_PER_CELL);
    const id = ids[y * columns + x];
    if (id) lowest[id] = ((mm - hp[1]) / (lp[1] - hp[1])) * end;
  }
  const near = (mm: number) => Math.round(Math.min(0.9 * end, Math.max(25, mm + chance.normal() * 0.05 * end)));
  const first = near(lowest[2] ?? 0.2 * end);
  const second = Math.max(first + 30, near(lowest[3] ?? 0.5 * end));
  return [
    { name: "upper", between: ["dense", "middling"], atMm: first },
    { name: "lower", between: ["middling", "light"], atMm: second },
  ];
}

export function deckFileOf({ table }: Scenario, splitters: readonly SplitterAt[]) {
  const file = {
    schemaVersion: 1 as const,
    name: `${table.skin.name} deck`,
    hand: table.hand,
    lengthMm: table.lengthMm,
    widthMm: table.widthMm,
    ...(table.rectangular ? {} : { outline: table.outline.map(([x, y]): [number, number] => [x, y]) }),
    feedBox: table.feed.map(([x, y]): [number, number] => [x, y]),
    washPipes: [table.wash.map(([x, y]): [number, number] => [x, y])],
    splitters: splitters.map((s) => ({ ...s, between: [...s.between] as SplitterAt["between"] })),
  };
  DeckFile.parse(file);
  return file;
}

export function aboutOf(scene: Scenario, camera: Camera, truth: Uint8Array, projectionOffMm: number) {
  const { table, ore } = scene;
  const lie = lieOf(table);
  const on = truth.filter((id) => id > 0).length;
  const share = (id: number) => Math.round((1000 * truth.filter((t) => t === id).length) / Math.max(1, on)) / 1000;
  return {
    title: ore.title,
    seed: scene.seed,
    made: "rendered",
    maker: "tests/third-maker, POV-Ray 3.7",
    licence: "CC0-1.0",
    materials: { dense: ore.names[0], middling: ore.names[1], light: ore.names[2] },
    deck: {
      skin: table.skin.name,
      hand: table.hand,
      shape: table.rectangular ? "rectangle" : "four corners, not a rectangle",
    },
    light: scene.light,
    outdoors: scene.outdoors,
    view: {
      side: camera.side,
      distanceMm: Math.round(camera.distanceMm),
      elevationDegrees: Math.round(camera.elevationDegrees),
      bulge: Math.round(camera.bulge * 1e5) / 1e5,
      coarsestMmPerPx:
        Math.round(100 * Math.max(...table.outline.map(([x, y]) => mmPerPixel(camera, lie, x, y)))) / 100,
      projectionOffMm: Math.round(projectionOffMm * 1000) / 1000,
    },
    faults: scene.fault === "none" ? [] : [scene.fault],
    dryPatches: scene.dry.length,
    before: scene.thing,
    shares: { bare: share(1), dense: share(2), middling: share(3), light: share(4), dry: share(5) },
  };
}
