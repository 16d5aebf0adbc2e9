import { z } from "zod";
import { ContentId } from "./http.ts";
import { SettingsFile } from "./notes.ts";
import { Hint, Reading } from "./reading.ts";
import { DeckPair, listOf, MarkedEdge, Product, SchemaVersion } from "./shapes.ts";
import { Id } from "./stored.ts";

/** Reference photos of bands: what is good or bad about them, what to do, and how they are like other bands. */

const Share = z.number().min(0).max(1);
const Words = z.string().trim().min(1).max(200);
const Text = z.string().trim().max(2000);

/** What is wrong with a deck, as people name it; `none`: it runs well. The page has words and remedies for each, by its name. */
export const DECK_FAULTS = [
  "none",
  "starved",
  "overloaded",
  "streaks",
  "dry",
  "surging",
  "heaps",
  "noMiddling",
  "noDense",
  "empty",
  "tooHigh",
  "tooLow",
] as const;
export const DeckFault = z.enum(DECK_FAULTS);
export type DeckFault = z.infer<typeof DeckFault>;

/** How a deck is cut, seen from above: right angles, a parallelogram, or anything else. */
export const DECK_SHAPES = ["rectangle", "slanted", "other"] as const;
export const DeckShape = z.enum(DECK_SHAPES);
export type DeckShape = z.infer<typeof DeckShape>;

/** Where one band leaves: shares of the outlet path, all its stretches together. */
const LookBand = z.strictObject({ from: Share, to: Share, width: Share, stretches: z.number().int().min(1) });
/** What a deck's bands look like, free of its size. */
export const BandLook = z.strictObject({
  bands: z.strictObject({
    dense: LookBand.nullable(),
    middling: LookBand.nullable(),
    light: LookBand.nullable(),
  }),
  /** Shares of the deck that is seen. */
  cover: z.strictObject({ bare: Share, dense: Share, middling: Share, light: Share, dry: Share }),
  dryPatches: z.number().int().min(0),
  rills: z.number().int().min(0),
});
export type BandLook = z.infer<typeof BandLook>;

/** One reference, as a gallery keeps it. Edges and outlet in mm along the outlet path. */
export const Reference = z.strictObject({
  schemaVersion: SchemaVersion,
  /** A UUID of a site's own; a plain name in the stock that comes with the program. */
  id: z.string().regex(/^[\w-]{1,64}$/),
  title: Words,
  material: z.strictObject({ dense: Words, middling: Words.nullable(), light: Words }),
  deck: z.strictObject({
    name: Words,
    lengthMm: z.number().positive(),
    widthMm: z.number().positive(),
    outline: z.array(DeckPair),
    outletMm: z.number().positive(),
  }),
  /** Where the outlet shows in the photo: outlet mm with shares of the photo's width and height; empty where nobody knows. */
  outletInPhoto: z.array(z.tuple([z.number(), z.number(), z.number()])).max(400),
  settings: SettingsFile.nullable(),
  running: z.boolean(),
  fault: DeckFault,
  /** In the words of whoever made it, where the fault's own words do not say it. */
  note: Text,
  /** What the remedy leans on. */
  basis: Hint.shape.basis,
  edges: z.array(MarkedEdge).max(100),
  look: BandLook,
  authors: Words,
  licence: Words,
  /** Only of a picture that the scene maker made: the seed it comes of. */
  seed: z.number().int().min(0).optional(),
});
export type Reference = z.infer<typeof Reference>;
export const ReferenceStock = z.strictObject({
  schemaVersion: SchemaVersion,
  references: z.array(Reference).max(2000),
});

/** A reference with where its pictures are: the photo (JPEG) and its classes (PNG with a palette, one cell a pixel). */
export const ShownReference = Reference.extend({ photoUrl: z.string(), classesUrl: z.string().nullable() });
export type ShownReference = z.infer<typeof ShownReference>;
/** Part of the gallery, by title; `next` asks for what follows. `all`: how many there are that fit. */
export const ReferenceList = listOf(ShownReference).extend({ all: z.number().int() });

/** What a gallery can be asked for by name, in the order of letters: dense and light materials, and the site's own decks. */
export const GalleryChoices = z.strictObject({ materials: z.array(z.string()), decks: z.array(z.string()) });
export type GalleryChoices = z.infer<typeof GalleryChoices>;

/** How a photo differs from a reference, in named words with what they are filled with. */
export const LookDifference = z.discriminatedUnion("name", [
  /** An edge of this photo's band lies lower (larger outlet mm) or higher than the reference's. */
  z.strictObject({
    name: z.literal("edge"),
    band: Product,
    edge: z.enum(["from", "to"]),
    way: z.enum(["lower", "higher"]),
    mm: z.number().min(0),
    share: Share,
  }),
  z.strictObject({ name: z.literal("band"), band: Product, here: z.boolean() }),
  z.strictObject({
    name: z.literal("cover"),
    of: z.enum(["bare", "dense", "middling", "light", "dry"]),
    way: z.enum(["more", "less"]),
    share: Share,
  }),
  z.strictObject({ name: z.literal("parts"), band: Product, here: z.number().int(), there: z.number().int() }),
]);
export type LookDifference = z.infer<typeof LookDifference>;

/** Which references are most like this reading. */
export const AlikeAsked = z.strictObject({
  reading: Reading,
  most: z.number().int().min(1).max(20).default(3),
  fault: DeckFault.optional(),
});
export const Alike = z.strictObject({
  items: z.array(
    z.strictObject({
      reference: ShownReference,
      /** 0: the very same look; near 1 and beyond: another look altogether. */
      distance: z.number().min(0),
      /** What differs most, first. */
      differences: z.array(LookDifference),
    }),
  ),
  /** Of how many references these are the nearest. */
  among: z.number().int(),
});
export type Alike = z.infer<typeof Alike>;

/** Take a reading into the site's gallery, as a person marked it up. */
export const NewReference = z.strictObject({
  reading: ContentId,
  /** The mark-up that is its truth; the newest, where it is not said; without any, the reading's own bands. */
  markUp: Id.nullable().default(null),
  title: Words,
  material: Reference.shape.material,
  fault: DeckFault,
  note: Text.default(""),
  authors: Words,
  licence: Words,
});
export type NewReference = z.infer<typeof NewReference>;

/**
 * Make a deck that nobody has seen, with its truth. The scene maker's seeds are tried from this one on until a deck can be taught from; the same
 * seed makes the same picture. Without one, any.
 */
export const NewMadeDeck = z.strictObject({ seed: z.number().int().min(0).max(4_294_967_295).optional() });
export type NewMadeDeck = z.infer<typeof NewMadeDeck>;
