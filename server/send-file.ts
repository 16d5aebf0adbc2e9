import type { Response } from "express";

/** Answer with a file of `folder`, whatever folders with a dot that one lies in. @param maxAge  How long it may be kept. */
export const sendFile = (res: Response, folder: string, name: string, maxAge: string | 0 = 0): Promise<void> =>
  new Promise((sent, failed) =>
    res.sendFile(name, { root: folder, dotfiles: "deny", maxAge }, (error) => (error ? failed(error) : sent())),
  );
