/** What a photo file may be, and what is found in it; shared by the page and its worker. */

/** Most bytes of a file, most pixels of a photo, least pixels on its shorter side: the server's limits. */
export const LIMITS = { bytes: 60e6, pixels: 60e6, sidePx: 320 } as const;

/** What became of a file. Width and height: the upright photo, full size, pixels. */
export interface Opened {
  /** SHA-256 of the file, by which the server knows it too. */
  readonly id: string;
  readonly widthPx: number;
  readonly heightPx: number;
  /** Local time of the camera, ISO 8601 without a zone; null where the file does not tell. */
  readonly takenAt: string | null;
  /** A JPEG of the upright photo to work on; and a small one for a list, as a data: address. */
  readonly preview: Blob;
  readonly thumbUrl: string;
}
/** `photo-unknown-here`: the server reads this format, this browser does not. */
export type OpeningFault =
  | "photo-empty"
  | "photo-broken"
  | "photo-too-small"
  | "photo-too-large"
  | "photo-unknown-here";
