import { strToU8, zipSync } from "fflate";

/** CSV files as one ZIP. */
export const packCsv = (files: Readonly<Record<string, string>>): Uint8Array =>
  zipSync(Object.fromEntries(Object.entries(files).map(([name, text]) => [name, strToU8(text)])));
