import type { Picture } from "./state.ts";

/** The photo with its drawing as one JPEG, to be kept or sent on. */
export async function drawnPicture({ photoUrl, drawingUrl }: Picture): Promise<Blob> {
  const [photo, drawing] = await Promise.all([loaded(photoUrl), drawingUrl ? loaded(drawingUrl) : null]);
  const { naturalWidth: width, naturalHeight: height } = photo;
  return onCanvas(width, height, (pen) => {
    pen.drawImage(photo, 0, 0);
    if (drawing) pen.drawImage(drawing, 0, 0, width, height);
  });
}

/** What `draw` draws, as JPEG. */
export function onCanvas(
  width: number,
  height: number,
  draw: (pen: OffscreenCanvasRenderingContext2D) => void,
): Promise<Blob> {
  const canvas = new OffscreenCanvas(width, height);
  draw(canvas.getContext("2d")!);
  return canvas.convertToBlob({ type: "image/jpeg", quality: 0.88 });
}

/** A picture to be drawn, from its bytes. */
export async function pictureOf(blob: Blob): Promise<HTMLImageElement> {
  const url = URL.createObjectURL(blob);
  try {
    return await loaded(url);
  } finally {
    URL.revokeObjectURL(url);
  }
}

async function loaded(url: string): Promise<HTMLImageElement> {
  const image = new Image();
  image.src = url;
  await image.decode();
  return image;
}
