import { z } from "zod";
import {
  Alike,
  AlikeAsked,
  GalleryChoices,
  NewMadeDeck,
  NewReference,
  Reference,
  ReferenceList,
  ShownReference,
} from "../../vision/contract/index.ts";
import {
  faultBasis,
  lookDifferences,
  lookOfMarks,
  lookOfReading,
  lookVector,
  nearest,
  outletInPhoto,
  outletMmOf,
  pathLength,
  placeByView,
  stretchesOf,
} from "../../vision/index.ts";
import { type Endpoint, endpoint } from "../endpoint.ts";
import { choicesOf, fits, GalleryFilter } from "../gallery-filter.ts";
import { markedPng } from "../marked-png.ts";
import { deckOf, edgesOfMarkUp, edgesOfReading, marksOfMarkUp, marksOfReading, outletPairs } from "../marks.ts";
import type { Parts } from "../parts.ts";
import { RequestError } from "../problems.ts";
import { ReaderError } from "../reader.ts";
import { sendBlob } from "../send-blob.ts";
import { sendFile } from "../send-file.ts";
import type { Caller } from "../storage/caller.ts";
import type { Stock } from "../storage/gallery.ts";
import { PageQuery } from "../storage/pages.ts";
import { partOf } from "../storage/part-of-list.ts";

const At = z.object({ id: Reference.shape.id });
/** Reference photos, by words, by filters and by likeness. */
export function galleryRoutes({ data, reader }: Parts, { folder, references: stock }: Stock): Endpoint[] {
  const shelf = async (caller: Caller) => data.gallery.shelf(caller, await stock());
  const one = async (caller: Caller, id: string): Promise<ShownReference> => {
    const found = (await shelf(caller)).references.find((reference) => reference.id === id);
    if (!found)
      throw new RequestError("not-found", "There is no such reference in this gallery. Load the gallery again.");
    return found;
  };
  const sendPicture = (kind: "photo" | "classes") =>
    endpoint(
      {
        method: "get",
        path: `/api/gallery/:id/${kind === "photo" ? "photo.jpg" : "classes.png"}`,
        right: "see",
        says:
          kind === "photo" ? "A reference's photo" : "What a reference's cells show: PNG with a palette, class numbers",
        params: At,
        answerType: kind === "photo" ? "image/jpeg" : "image/png",
      },
      async ({ caller, params, req, res }) => {
        const { id, classesUrl } = await one(caller, params.id);
        const type = kind === "photo" ? "image/jpeg" : "image/png";
        const own = await data.gallery.pictures(caller, id);
        const blob = own?.[kind];
        if (blob && (await sendBlob(req, res, data.blobs, blob, type))) return;
        if (own || (kind === "classes" && !classesUrl))
          throw new RequestError("not-found", "This reference has no such picture.");
        await sendFile(res, folder, `${id}.${kind === "photo" ? "jpg" : "classes.png"}`, "1d");
      },
    );

  return [
    endpoint(
      {
        method: "get",
        path: "/api/gallery",
        right: "see",
        says: "Reference photos by title: all, or those with these words, this fault, this material, or a deck of this name or shape",
        query: PageQuery.extend(GalleryFilter.shape),
        answer: ReferenceList,
      },
      async ({ caller, query }) => {
        const all = (await shelf(caller)).references.filter((reference) => fits(reference, query));
        return { ...partOf(all, query, ({ id }) => id), all: all.length };
      },
    ),
    endpoint(
      {
        method: "get",
        path: "/api/gallery-choices",
        right: "see",
        says: "Names of materials and of the site's own decks that the gallery can be asked for",
        answer: GalleryChoices,
      },
      async ({ caller }) => choicesOf((await shelf(caller)).references, await stock()),
    ),
    endpoint(
      {
        method: "post",
        path: "/api/gallery/alike",
        right: "see",
        says: "References whose bands look most like those of a reading, with what differs; nothing is kept",
        body: AlikeAsked,
        answer: Alike,
      },
      async ({ caller, body: { reading, most, fault } }) => {
        const look = lookOfReading(reading);
        if (!look)
          throw new RequestError(
            "not-alike",
            "Nothing was read in this photo: there is nothing to hold beside others. Take another photo.",
          );
        const { references, vectors } = await shelf(caller);
        const wanted = fault ? references.length : most;
        const found = nearest(vectors, lookVector(look), wanted)
          .map(({ at, distance }) => ({ reference: references[at]!, distance }))
          .filter(({ reference }) => fault === undefined || reference.fault === fault)
          .slice(0, most);
        const outletMm = outletMmOf(reading);
        return {
          items: found.map(({ reference, distance }) => ({
            reference,
            distance: Math.round(distance * 1e4) / 1e4,
            differences: lookDifferences(look, reference.look, outletMm),
          })),
          among: references.length,
        };
      },
    ),
    endpoint(
      {
        method: "get",
        path: "/api/gallery/:id",
        right: "see",
        says: "One reference",
        params: At,
        answer: ShownReference,
      },
      ({ caller, params }) => one(caller, params.id),
    ),
    sendPicture("photo"),
    sendPicture("classes"),
    endpoint(
      {
        method: "post",
        path: "/api/gallery",
        right: "teach",
        says: "Take a reading into the gallery, as a person marked it up",
        body: NewReference,
        answer: ShownReference,
        status: 201,
      },
      async ({ caller, body, newId }) => {
        const { reference, classes } = await referenceOf({ data }, caller, body, newId());
        return data.gallery.add(caller, body.reading, reference, classes);
      },
    ),
    endpoint(
      {
        method: "post",
        path: "/api/gallery/made",
        right: "teach",
        says: "Make a picture of a deck with its truth and take it into the gallery: the first to teach from, from this seed on. Takes seconds",
        body: NewMadeDeck,
        answer: ShownReference,
        status: 201,
      },
      async ({ caller, body, newId }) => {
        const seed = body.seed ?? Number.parseInt(newId().slice(0, 8), 16);
        const madeOf = async (from: number) => (await shelf(caller)).references.find((one) => one.seed === from);
        const there = await madeOf(seed);
        if (there) return there;
        const made = await reader.makeDeck(seed).catch((error) => {
          if (error instanceof ReaderError && error.code !== "closed")
            throw new RequestError("busy", "No deck could be made now. Wait a minute, then ask again.");
          throw error;
        });
        return (await madeOf(made.reference.seed!)) ?? data.gallery.addMade(caller, made);
      },
    ),
    endpoint(
      {
        method: "delete",
        path: "/api/gallery/:id",
        right: "teach",
        says: "Take a reference of the site's own out of the gallery; the photo and its reading stay",
        params: At,
        status: 204,
      },
      ({ caller, params }) => data.gallery.remove(caller, params.id),
    ),
  ];
}

/** What a reading and a mark-up make of a new reference. */
async function referenceOf({ data }: Pick<Parts, "data">, caller: Caller, asked: NewReference, id: string) {
  const reading = await data.readings.reading(caller, asked.reading);
  const own = reading && lookOfReading(reading);
  if (!reading?.grid || !own)
    throw new RequestError("not-found", "There is no such usable reading here. Choose one in which bands were read.");
  const newest = (await data.said.markUps(caller, asked.reading, { limit: 1, after: null })).items[0]?.id;
  const chosen = asked.markUp ?? newest;
  const markUp = chosen === undefined ? null : await data.said.oneMarkUp(caller, chosen);
  if (markUp && markUp.reading !== asked.reading)
    throw new RequestError("not-alike", "This mark-up is of another reading. Choose one of this reading, or none.");
  const deck = await deckOf(data, caller, asked.reading, reading.grid);
  const { file, outline } = deck;
  const path = outletPairs(deck);
  const outletMm = pathLength(path);
  const drawn = markUp && (await marksOfMarkUp(data, caller, markUp));
  const marked = drawn ?? (await marksOfReading(data, caller, asked.reading));
  const counts = { dryPatches: own.dryPatches, rills: own.rills };
  const look = drawn ? lookOfMarks(drawn, stretchesOf(drawn.labels, drawn.grid, path), outletMm, counts) : own;
  const settings = (await data.readings.asked(caller, asked.reading)).asked.settings ?? null;
  const place = placeByView(reading);
  const { widthPx, heightPx } = reading.photo;
  const reference = Reference.parse({
    schemaVersion: 1,
    id,
    title: asked.title,
    material: asked.material,
    deck: {
      name: file.name ?? "Deck",
      lengthMm: file.lengthMm,
      widthMm: file.widthMm,
      outline: outline.map(({ x, y }) => [x, y]),
      outletMm: Math.round(10 * outletMm) / 10,
    },
    outletInPhoto: place ? outletInPhoto(path, place, { width: widthPx!, height: heightPx! }) : [],
    settings,
    running: reading.deckState !== "stopped",
    fault: asked.fault,
    note: asked.note,
    basis: faultBasis(asked.fault),
    edges: markUp ? await edgesOfMarkUp(data, caller, markUp) : await edgesOfReading(data, caller, asked.reading),
    look,
    authors: asked.authors,
    licence: asked.licence,
  });
  return { reference, classes: marked && markedPng(marked) };
}
