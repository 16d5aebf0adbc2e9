import { z } from "zod";

/**
 * COCO object detection, as far as mark-ups need it (cocodataset.org, "Data format"; from memory): one image a deck laid flat,
 * one pixel a cell; masks as polygons or run lengths. Further fields are let pass and left alone.
 */

/** Most cells of an image. */
const MOST_CELLS = 40_000_000;
const Side = z.number().int().min(1).max(20_000);
const Plain = z.string().max(4000);

/** Run lengths down the columns, the first of 0s; as numbers, or packed into text as the COCO tools do. */
const RunLengths = z.object({
  size: z.tuple([Side, Side]),
  counts: z.union([z.array(z.number().int().min(0)).max(4_000_000), z.string().max(8_000_000)]),
});
export const CocoFile = z.object({
  info: z.object({ description: Plain, contributor: Plain, date_created: Plain }).partial().default({}),
  licenses: z
    .array(z.object({ id: z.number().int(), name: Plain }))
    .max(100)
    .default([]),
  images: z
    .array(
      z
        .object({
          id: z.number().int(),
          width: Side,
          height: Side,
          file_name: Plain,
          /** Not of COCO: how large a pixel is on the deck, mm. */
          mm_per_pixel: z.number().positive().optional(),
        })
        .refine(({ width, height }) => width * height <= MOST_CELLS, "must have at most 40 million pixels"),
    )
    .min(1)
    .max(1000),
  categories: z
    .array(z.object({ id: z.number().int(), name: Plain }))
    .min(1)
    .max(1000),
  annotations: z
    .array(
      z.object({
        id: z.number().int(),
        image_id: z.number().int(),
        category_id: z.number().int(),
        area: z.number().min(0).optional(),
        bbox: z.array(z.number()).length(4).optional(),
        iscrowd: z.union([z.literal(0), z.literal(1)]).optional(),
        segmentation: z.union([z.array(z.array(z.number()).min(6).max(200_000)).max(10_000), RunLengths]),
      }),
    )
    .max(20_000),
});
export type CocoFile = z.infer<typeof CocoFile>;
