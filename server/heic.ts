import { createRequire } from "node:module";
import { PhotoError, said } from "../vision/index.ts";

/** Raw pixels of one picture: `height × width × 3` bytes. */
export interface RawPicture {
  readonly width: number;
  readonly height: number;
  readonly rgb: Uint8Array;
}

/** What is used of libheif's own JavaScript door; every other export is left alone. */
interface LibHeif {
  heif_context_alloc(): object;
  heif_context_free(context: object): void;
  heif_context_read_from_memory(context: object, bytes: Uint8Array): { code: unknown };
  heif_js_context_get_primary_image_handle(context: object): object & { code?: unknown };
  heif_image_handle_release(handle: object): void;
  heif_js_decode_image2(handle: object, space: unknown, chroma: unknown): Promise<Decoded> | Decoded;
  heif_image_release(image: object): void;
  readonly heif_error_code: { readonly heif_error_Ok: unknown };
  readonly heif_colorspace: { readonly heif_colorspace_RGB: unknown };
  readonly heif_chroma: { readonly heif_chroma_interleaved_RGB: unknown };
}
interface Decoded {
  readonly code?: unknown;
  readonly image: object;
  readonly channels: readonly { width: number; height: number; stride: number; data: Uint8Array }[];
}

const load = createRequire(import.meta.url)("libheif-js/libheif-wasm/libheif-bundle.js") as () => LibHeif;

/**
 * Decode the primary picture of a HEIC file, turned upright by libheif as its own boxes say; its EXIF orientation
 * repeats that turn and is not applied again (ISO/IEC 23008-12, annex A.2). Colours stay in the file's own profile.
 *
 * @throws {PhotoError} `photo-broken`.
 */
export async function decodeHeic(bytes: Uint8Array): Promise<RawPicture> {
  const heif = load(); // a fresh instance each time: WebAssembly memory grows and is never given back
  const context = heif.heif_context_alloc();
  try {
    if (heif.heif_context_read_from_memory(context, bytes).code !== heif.heif_error_code.heif_error_Ok) throw broken();
    const handle = heif.heif_js_context_get_primary_image_handle(context);
    if (!handle || handle.code) throw broken();
    try {
      return await pixels(heif, handle);
    } finally {
      heif.heif_image_handle_release(handle);
    }
  } finally {
    heif.heif_context_free(context);
  }
}

async function pixels(heif: LibHeif, handle: object): Promise<RawPicture> {
  const space = heif.heif_colorspace.heif_colorspace_RGB;
  const decoded = await heif.heif_js_decode_image2(handle, space, heif.heif_chroma.heif_chroma_interleaved_RGB);
  const plane = decoded?.code ? undefined : decoded?.channels?.[0];
  if (!plane) throw broken();
  const { width, height, stride, data } = plane;
  const rgb = new Uint8Array(width * height * 3);
  for (let y = 0; y < height; y++) rgb.set(data.subarray(y * stride, y * stride + width * 3), y * width * 3);
  heif.heif_image_release(decoded.image);
  return { width, height, rgb };
}

const broken = () => new PhotoError("photo-broken", said("said.file.broken"));
