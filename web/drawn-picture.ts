import type { Picture } from "./state.ts";

/** The photo with its drawing as one JPEG, to be kept or sent on. */
export async function drawnPicture({ photoUrl, drawingUrl }: Picture): Promise<Blob> {
  const [photo, drawing] = await Promise.all([loaded(photoUrl), drawingUrl ? loaded(drawingUrl) : null]);
  const canvas = new OffscreenCanvas(photo.naturalWidth, photo.naturalHeight);
  const pen = canvas.getContext("2d")!;
  pen.drawImage(photo, 0, 0);
  if (drawing) pen.drawImage(drawing, 0, 0, canvas.width, canvas.height);
  return canvas.convertToBlob({ type: "image/jpeg", quality: 0.88 });
}

async function loaded(url: string): Promise<HTMLImageElement> {
  const image = new Image();
  image.src = url;
  await image.decode();
  return image;
}
