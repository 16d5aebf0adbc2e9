import { z } from "zod";

/** [x, y] on the deck, mm. */
export const DeckPair = z.tuple([z.number(), z.number()]);
/** [x, y] in the EXIF-upright photo, pixels from the outer corner of the top-left pixel. */
export const PhotoPair = z.tuple([z.number(), z.number()]);
/** [from, to] along the outlet path, mm. */
export const OutletSpan = z.tuple([z.number(), z.number()]);
export const SchemaVersion = z.literal(1);

/** What the solids can be. */
export const Product = z.enum(["dense", "middling", "light"]);
export type Product = z.infer<typeof Product>;

/** One end of a band at the outlet, mm along the outlet path. */
export const MarkedEdge = z.strictObject({ kind: Product, edge: z.enum(["from", "to"]), atMm: z.number() });
export type MarkedEdge = z.infer<typeof MarkedEdge>;

/** What one deck cell can be, in the order of its number in a classes picture. */
export const CLASS_NAMES = ["unseen", "bare", "dense", "middling", "light", "dry"] as const;
export const ClassName = z.enum(CLASS_NAMES);
export type ClassName = z.infer<typeof ClassName>;

/** Part of a list, newest first unless it says otherwise; `next` asks for what follows, null at the end. */
export const listOf = <Item extends z.ZodType>(item: Item) =>
  z.strictObject({ items: z.array(item), next: z.string().nullable() });
