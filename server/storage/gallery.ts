import { readFile } from "node:fs/promises";
import { join } from "node:path";
import { Reference, ReferenceStock, type ShownReference } from "../../vision/contract/index.ts";
import { LOOK_NUMBERS, lookVector } from "../../vision/index.ts";
import type { MadeReference } from "../made-deck.ts";
import { RequestError } from "../problems.ts";
import type { Blobs } from "./blobs.ts";
import type { Caller } from "./caller.ts";
import type { Db } from "./database.ts";
import type { Gate } from "./gate.ts";
import { now } from "./naming.ts";

/** References without a reading: their pictures stand in their own rows. */
const PICTURED = ["packed_references", "made_references"] as const;
const OWN = ["gallery_references", ...PICTURED] as const;

/** Sites whose shelves are kept ready. */
const MOST_SHELVES = 50;

/** References of one site and of the stock, by title, with their looks as one row of numbers. */
export interface Shelf {
  readonly references: readonly ShownReference[];
  readonly vectors: Float32Array;
}

/** A site's own references, those that came in packs or were made among them. They are added and taken away, never changed. */
export class Gallery {
  readonly #db: Db;
  readonly #blobs: Blobs;
  readonly #gate: Gate;
  /** What was read of each site's, with what tells that it is still so. */
  readonly #shelves = new Map<string, { readonly mark: string; readonly shelf: Shelf }>();

  constructor(db: Db, blobs: Blobs, gate: Gate) {
    this.#db = db;
    this.#blobs = blobs;
    this.#gate = gate;
  }

  /** @param classes  What each cell shows, PNG; null where nobody knows. */
  async add(
    caller: Caller,
    reading: string,
    reference: Reference,
    classes: Uint8Array | null,
  ): Promise<ShownReference> {
    return this.#gate.whileAdding(async () => {
      const row = {
        id: reference.id,
        site_id: caller.site,
        reading_id: reading,
        person_id: caller.person,
        made_at: now(),
        reference_json: JSON.stringify(reference),
        classes_sha256: classes && (await this.#blobs.keep(classes)),
      };
      await this.#db
        .insertInto("gallery_references")
        .values(row)
        .onConflict((on) => on.column("id").doNothing())
        .execute();
      return shown(reference, row.classes_sha256 !== null);
    });
  }

  /** Keep a made deck; what is here already stays as it is. */
  async addMade({ site, person }: Caller, { reference, photo, classes }: MadeReference): Promise<ShownReference> {
    return this.#gate.whileAdding(async () => {
      const row = {
        id: reference.id,
        site_id: site,
        person_id: person,
        made_at: now(),
        reference_json: JSON.stringify(reference),
        photo_sha256: await this.#blobs.keep(photo),
        classes_sha256: await this.#blobs.keep(classes),
      };
      await this.#db
        .insertInto("made_references")
        .values(row)
        .onConflict((on) => on.columns(["site_id", "id"]).doNothing())
        .execute();
      return shown(reference, true);
    });
  }

  /** The blobs of a site's own reference: its photo small, and its classes. */
  async pictures({ site }: Caller, id: string): Promise<{ photo: string; classes: string | null } | null> {
    const row = await this.#db
      .selectFrom("gallery_references")
      .innerJoin("readings", "readings.id", "gallery_references.reading_id")
      .innerJoin("photos", (join) =>
        join.onRef("photos.site_id", "=", "readings.site_id").onRef("photos.sha256", "=", "readings.photo"),
      )
      .select(["photos.preview_sha256 as photo", "gallery_references.classes_sha256 as classes"])
      .where("gallery_references.site_id", "=", site)
      .where("gallery_references.id", "=", id)
      .executeTakeFirst();
    if (row) return row;
    for (const table of PICTURED) {
      const found = await this.#db
        .selectFrom(table)
        .select(["photo_sha256 as photo", "classes_sha256 as classes"])
        .where("site_id", "=", site)
        .where("id", "=", id)
        .executeTakeFirst();
      if (found) return found;
    }
    return null;
  }

  /** @throws {RequestError} `not-found`; those of the stock stay. */
  async remove({ site }: Caller, id: string): Promise<void> {
    const from = (table: (typeof OWN)[number]) =>
      this.#db.deleteFrom(table).where("site_id", "=", site).where("id", "=", id).returning("id").execute();
    const gone = await Promise.all(OWN.map(from));
    if (gone.flat().length === 0)
      throw new RequestError("not-found", "Your site has no such reference; those that came with the program stay.");
  }

  /** All that a site can look at: its own references and the stock. */
  async shelf({ site }: Caller, stock: readonly ShownReference[]): Promise<Shelf> {
    const tables = OWN.map((table) => this.#db.selectFrom(table).where("site_id", "=", site));
    const marks = await Promise.all(
      tables.map((rows) =>
        rows
          .select(({ fn }) => [fn.countAll<number>().as("many"), fn.max("made_at").as("last")])
          .executeTakeFirstOrThrow(),
      ),
    );
    const mark = [...marks.map(({ many, last }) => `${many} ${last}`), stock.length].join(" ");
    const known = this.#shelves.get(site);
    if (known?.mark === mark) return known.shelf;
    const found = await Promise.all(tables.map((rows) => rows.select(["reference_json", "classes_sha256"]).execute()));
    const own = found
      .flat()
      .map((row) => shown(Reference.parse(JSON.parse(row.reference_json)), row.classes_sha256 !== null));
    const references = [...own, ...stock].sort((a, b) => a.title.localeCompare(b.title) || (a.id < b.id ? -1 : 1));
    const vectors = new Float32Array(references.length * LOOK_NUMBERS);
    for (const [n, { look }] of references.entries()) vectors.set(lookVector(look), n * LOOK_NUMBERS);
    const shelf = { references, vectors };
    this.#shelves.delete(site);
    this.#shelves.set(site, { mark, shelf });
    if (this.#shelves.size > MOST_SHELVES) this.#shelves.delete(this.#shelves.keys().next().value!); // the oldest
    return shelf;
  }
}

/** The references that come with the program. */
export interface Stock {
  /** Where their pictures lie. */
  readonly folder: string;
  /** Read at the first call; none where the folder is missing. */
  references(): Promise<readonly ShownReference[]>;
}
export function galleryStock(folder: string): Stock {
  let read: Promise<ShownReference[]> | null = null;
  return {
    folder,
    references: () => {
      read ??= readStock(folder);
      return read;
    },
  };
}

async function readStock(folder: string): Promise<ShownReference[]> {
  const text = await readFile(join(folder, "references.json"), "utf8").catch(() => null);
  if (text === null) return [];
  return ReferenceStock.parse(JSON.parse(text)).references.map((reference) => shown(reference, true));
}

function shown(reference: Reference, classes: boolean): ShownReference {
  const at = `/api/gallery/${reference.id}`;
  return { ...reference, photoUrl: `${at}/photo.jpg`, classesUrl: classes ? `${at}/classes.png` : null };
}
