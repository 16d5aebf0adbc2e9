import type { Request } from "express";
import { RequestError } from "./problems.ts";

/** The bytes of a small request. @throws {RequestError} `body-too-large`, `body-wrong` for packed ones. */
export async function receiveWhole(req: Request, mostBytes: number): Promise<Uint8Array> {
  if ((req.get("Content-Encoding") ?? "identity") !== "identity") {
    throw new RequestError("body-wrong", "Send the file as it is, without Content-Encoding.");
  }
  const parts: Uint8Array[] = [];
  let length = 0;
  const tooLarge = () =>
    new RequestError(
      "body-too-large",
      `The file is larger than ${mostBytes / 1e6} MB. Send the right one, or split it.`,
    );
  if (Number(req.get("Content-Length") ?? 0) > mostBytes) throw tooLarge();
  for await (const part of req.iterator({ destroyOnReturn: false })) {
    length += part.length;
    if (length > mostBytes) throw tooLarge();
    parts.push(part);
  }
  return new Uint8Array(Buffer.concat(parts));
}
