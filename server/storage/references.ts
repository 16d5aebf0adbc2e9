import type { Db } from "./database.ts";

/** Columns of a report that name blobs. */
export const REPORT_BLOBS = ["page_sha256", "pdf_sha256", "data_sha256"] as const;

/** Every blob that some row names, each once. */
export async function blobsNamed(db: Db): Promise<Set<string>> {
  const photos = await db.selectFrom("photos").select(["sha256", "preview_sha256"]).execute();
  const pictures = await db
    .selectFrom("readings")
    .select(["overlay_sha256", "classes_sha256", "confidence_sha256"])
    .where("overlay_sha256", "is not", null)
    .execute();
  const marks = await db
    .selectFrom("mark_ups")
    .select("classes_sha256")
    .where("classes_sha256", "is not", null)
    .union(db.selectFrom("gallery_references").select("classes_sha256").where("classes_sha256", "is not", null))
    .execute();
  const packed = await db.selectFrom("packed_references").select(["photo_sha256", "classes_sha256"]).execute();
  const made = await db.selectFrom("made_references").select(["photo_sha256", "classes_sha256"]).execute();
  const reports = await db.selectFrom("reports").select(REPORT_BLOBS).execute();
  return new Set(
    [...photos, ...pictures, ...marks, ...packed, ...made, ...reports]
      .flatMap((row) => Object.values(row))
      .filter((id) => id !== null),
  );
}
