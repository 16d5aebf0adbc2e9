import {
  CONTROLS,
  type ControlName,
  type Figure,
  PENALTIES,
  type Penalty,
  type PenaltyName,
  PRICES,
  type PriceName,
  type RunRecord,
  type RunSample,
  type RunStream,
  SAMPLE_KINDS,
  When,
} from "../contract/index.ts";
import { VisionError } from "../errors.ts";
import { type SentenceKey, said } from "../said.ts";
import { PURE_MINERALS } from "./separation.ts";
import { keptUnit, type Quantity, toKept, unitsOf } from "./units.ts";

/** One figure a row. Columns in any order; only kind, item and value must be there. */
export const SHEET_COLUMNS = [
  "kind",
  "stream",
  "sample",
  "item",
  "value",
  "error",
  "unit",
  "time",
  "who",
  "note",
] as const;
export type SheetRow = Readonly<Record<(typeof SHEET_COLUMNS)[number], string>>;

const COUNTS = ["free dense", "free light", "locked"];
const RUN_ITEMS = ["name", "site", "material", "metal", "mineral", "start", "end", "hours"];
const STREAM_ITEMS = ["from", "to", "product"];
const PRODUCTS = ["dense", "middling", "light"] as const;
const KINDS = ["run", "stream", ...SAMPLE_KINDS, "setting", "change", "price", "photo", "note"];
/** Where solids are parted, unless the sheet names nodes of its own. */
const TABLE = "table";

/** A row that cannot be used; it says what to do. */
export class RowFault extends VisionError<"row"> {
  constructor(name: Told, values?: Record<string, string>) {
    super("row", said(`said.sheet.${name}`, values));
  }
}
type Told = Extract<SentenceKey, `said.sheet.${string}`> extends `said.sheet.${infer Name}` ? Name : never;

/** Takes row after row; throws RowFault, in words, for one that cannot be used. */
export class RowReader {
  private readonly head: Record<string, string> = {};
  private hours: Figure | null = null;
  private readonly streams = new Map<string, Record<string, string>>();
  private readonly samples = new Map<string, RunSample>();
  private readonly rest: Pick<RunRecord, "settings" | "changes" | "photos" | "notes"> = {
    settings: [],
    changes: [],
    photos: [],
    notes: [],
  };
  private readonly prices: Partial<Record<PriceName, Figure>> = {};
  private readonly penalties: Record<string, Penalty> = {};

  constructor(private readonly delimiter: string) {}

  take(row: SheetRow): void {
    const kind = oneOf(row.kind.toLowerCase(), KINDS, "row");
    const at = timeOf(row.time);
    if (kind === "run") this.takeRun(row);
    else if (kind === "stream") this.takeStream(row);
    else if (kind === "setting") this.rest.settings.push(this.setting(row, at));
    else if (kind === "change") this.rest.changes.push(this.setting(row, at));
    else if (kind === "price") this.takePrice(row);
    else if (kind === "photo") {
      this.rest.photos.push({ name: given(row.value, "photo"), at, note: row.note });
    } else if (kind === "note") {
      this.rest.notes.push({ text: given(row.value || row.note, "note"), at, who: row.who });
    } else this.takeSample(kind as RunSample["kind"], row, at);
  }

  run(): unknown {
    const { name = "", site = "", material = "", metal = "", mineral, start, end } = this.head;
    const told = [...this.streams].map(([stream, items]) => streamOf(stream, items));
    return {
      schemaVersion: 1,
      name: name || "Run",
      site,
      material,
      metal,
      mineral: mineral ?? null,
      startedAt: start ?? null,
      endedAt: end ?? null,
      hours: this.hours,
      streams: streamsWith(told, [...this.samples.values()]),
      samples: [...this.samples.values()],
      ...this.rest,
      prices: this.prices,
      penalties: this.penalties,
    };
  }

  private setting(row: SheetRow, at: string | null): RunRecord["settings"][number] {
    const control = oneOf(row.item.toLowerCase(), Object.keys(CONTROLS), "control") as ControlName;
    const figure = this.figure(row, CONTROLS[control]);
    return { control, target: row.sample || row.stream, figure, at, who: row.who, note: row.note };
  }

  private takePrice(row: SheetRow): void {
    const items = [...Object.keys(PRICES), ...Object.keys(PENALTIES)];
    const item = oneOf(row.item.toLowerCase(), items, "price") as PriceName | PenaltyName;
    if (item === "penalty" || item === "penalty above") {
      const assay = given(row.sample, "assay");
      const own = this.penalties[assay] ?? {};
      once(own[item], `"${item}" of ${assay}`);
      this.penalties[assay] = { ...own, [item]: this.figure(row, PENALTIES[item]) };
      return;
    }
    once(this.prices[item], `The price "${item}"`);
    this.prices[item] = this.figure(row, PRICES[item]);
    if (item === "hours a day" && this.prices[item].value > 24) throw new RowFault("dayHours");
  }

  private takeRun(row: SheetRow): void {
    const item = oneOf(row.item.toLowerCase(), RUN_ITEMS, "run");
    once(item === "hours" ? this.hours : this.head[item], `The run's ${item}`);
    if (item === "hours") this.hours = this.figure(row, "hours");
    else {
      const text = given(row.value, "run", item);
      if (item === "start" || item === "end") this.head[item] = timeOf(text)!;
      else
        this.head[item] = item === "mineral" ? oneOf(text.toLowerCase(), Object.keys(PURE_MINERALS), "mineral") : text;
    }
  }

  private takeStream(row: SheetRow): void {
    const name = given(row.stream, "stream");
    const item = oneOf(row.item.toLowerCase(), STREAM_ITEMS, "stream");
    const own = this.streams.get(name) ?? {};
    once(own[item], `"${item}" of ${name}`);
    const value = item === "product" ? oneOf(row.value.toLowerCase(), PRODUCTS, "product") : row.value;
    this.streams.set(name, { ...own, [item]: value });
  }

  private takeSample(kind: RunSample["kind"], row: SheetRow, at: string | null): void {
    const stream = given(row.stream, "ofStream");
    const item = given(row.item, "item");
    const quantity = quantityOf(kind, item.toLowerCase());
    const sizeMm = kind === "fraction" ? sizesOf(row.sample) : null;
    const figure = this.figure(row, quantity);
    const key = JSON.stringify([kind, stream, row.sample]);
    const own = this.samples.get(key) ?? {
      kind,
      stream,
      sample: row.sample,
      sizeMm,
      figures: {},
      at: null,
      who: "",
      note: "",
    };
    // a metal keeps its capitals; the sheet's own words do not need theirs
    const name = quantity === "grade" ? item : item.toLowerCase();
    once(own.figures[name], `${name} of ${kind} ${row.sample} of ${stream}`.replace("  ", " "));
    this.samples.set(key, {
      ...own,
      figures: { ...own.figures, [name]: figure },
      at: own.at ?? at,
      who: own.who || row.who,
      note: own.note || row.note,
    });
  }

  private figure(row: SheetRow, quantity: Quantity): Figure {
    const value = this.number(given(row.value, "number"), "value");
    const error = row.error === "" ? null : this.number(row.error, "error");
    if (error !== null && error < 0) throw new RowFault("errorBelow", { error: row.error });
    const unit = row.unit === "" && quantity === "count" ? keptUnit(quantity) : row.unit;
    const units = unitsOf(quantity).join(", ");
    if (unit === "") throw new RowFault("noUnit", { item: row.item, units });
    const convert = toKept(quantity, unit);
    if (!convert) throw new RowFault("wrongUnit", { unit, item: row.item, units });
    const kept = convert(value);
    checkPlausible(quantity, kept, row);
    // to 12 digits: 0.1 t is 100 kg, not a hair more
    const tidy = (n: number) => Number(n.toPrecision(12));
    return { value: tidy(kept), error: error === null ? null : tidy(Math.abs(convert(value + error) - kept)) };
  }

  private number(text: string, column: string): number {
    const comma = text.includes(",");
    if (comma && this.delimiter === ",") throw new RowFault("comma", { column, text });
    if (comma && text.includes(".")) throw new RowFault("pointAndComma", { column, text });
    const plain = text.replace(",", ".").replace(/^[\u2212]/, "-");
    const value = /^[+-]?(\d+\.?\d*|\.\d+)(e[+-]?\d+)?$/i.test(plain) ? Number(plain) : Number.NaN;
    if (!Number.isFinite(value)) throw new RowFault("noNumber", { column, text });
    return value;
  }
}

/** What a sample's figure is of. @throws {RowFault} for an item that such a sample has not. */
export function quantityOf(kind: RunSample["kind"], item: string): Quantity {
  switch (kind) {
    case "mass":
      return ({ wet: "mass", dry: "mass", moisture: "percent" } as const)[
        oneOf(item, ["wet", "dry", "moisture"], "mass") as "wet"
      ];
    case "cut":
      return ({ wet: "mass", dry: "mass", moisture: "percent", time: "time" } as const)[
        oneOf(item, ["wet", "dry", "moisture", "time"], "cut") as "wet"
      ];
    case "count":
      oneOf(item, COUNTS, "grain");
      return "count";
    case "magnet":
      oneOf(item, ["held", "charge"], "magnet");
      return "mass";
    case "pan":
      return oneOf(item, ["grains", "panned"], "pan") === "grains" ? "count" : "mass";
    case "fraction":
      if (COUNTS.includes(item)) return "count";
      return item === "mass" ? "mass" : "grade";
    case "assay":
      return "grade";
  }
}

/** What no scale, watch or laboratory can give. */
function checkPlausible(quantity: Quantity, kept: number, { item, value, unit }: SheetRow): void {
  const told = { what: `${item} of ${value} ${unit}`.trim() };
  if (kept < 0 && quantity !== "slope" && quantity !== "money") throw new RowFault("below", told);
  if ((quantity === "percent" || quantity === "grade") && kept > 100) {
    throw new RowFault("above", told);
  }
  if (quantity === "count" && !Number.isInteger(kept)) throw new RowFault("notWhole", told);
}

/** Times as people write them; kept with a T. */
function timeOf(text: string): string | null {
  if (text === "") return null;
  const kept = text.replace(/^(\d{4}-\d{2}-\d{2}) +/, "$1T").replace(/(^|T)(\d):/, "$10$2:");
  if (When.safeParse(kept).success && (!kept.includes("T") || isDay(kept.slice(0, 10)))) return kept;
  throw new RowFault("noTime", { text });
}
function isDay(day: string): boolean {
  const time = Date.parse(`${day}T00:00:00Z`);
  return Number.isFinite(time) && new Date(time).toISOString().startsWith(day);
}

/** Openings of a screen fraction, mm, such as "0.1-0.25"; the pan's finest begins at 0. */
function sizesOf(sample: string): [number, number] {
  const found = /^(\d*[.,]?\d+)\s*(?:-|–|to)\s*(\d*[.,]?\d+)\s*(?:mm)?$/.exec(sample);
  const [from, to] = [found?.[1], found?.[2]].map((text) => Number(text?.replace(",", ".")));
  if (found && from! < to!) return [from!, to!];
  throw new RowFault("noFraction", { sample });
}

function oneOf(word: string, known: readonly string[], what: string): string {
  if (known.includes(word)) return word;
  throw new RowFault(word === "" ? "missing" : "unknown", { word, what, known: known.join(", ") });
}
function given(text: string, what: string, item = ""): string {
  if (text !== "") return text;
  throw new RowFault("give", { what, item });
}
function once(already: unknown, what: string): void {
  if (already !== undefined && already !== null) throw new RowFault("twice", { what });
}

/** The streams that are told, with those that samples alone name. */
export function streamsWith(told: readonly RunStream[], samples: readonly RunSample[]): RunStream[] {
  const untold = new Set(samples.map(({ stream }) => stream).filter((name) => !told.some((one) => one.name === name)));
  const streams = [...told, ...[...untold].map((name) => streamOf(name, {}))];
  // products that were weighed without a feed have one all the same
  const fed = streams.some(({ to }) => to === TABLE) || !streams.some(({ from }) => from === TABLE);
  return fed ? streams : [streamOf("feed", {}), ...streams];
}

/** A stream of which no way is told leaves the table; the feed enters it. */
function streamOf(name: string, { from, to, product }: Record<string, string>): RunStream {
  const told = from !== undefined || to !== undefined;
  const feed = name.toLowerCase() === "feed";
  return {
    name,
    from: told ? from || null : feed ? null : TABLE,
    to: told ? to || null : feed ? TABLE : null,
    product: PRODUCTS.find((one) => one === (product ?? name.toLowerCase())) ?? null,
  };
}
