import type { Request } from "express";
import { renderSVG } from "uqr";

/** A link for people to open: at the server's own address, else at the one they ask at. */
export const linkTo = (req: Request, address: string | null, path: string) =>
  new URL(path, address ?? `${req.protocol}://${req.get("Host")}`).href;

/** The link as a QR code (ISO/IEC 18004), SVG. */
export const qrOf = (link: string) => renderSVG(link);
