// The entry of a reading process: it does not inherit the TypeScript loader of the one that started it.
import { register } from "tsx/esm/api";

register();
export const { warm, receive, checkDeck, read, refuse, makeDeck } = await import("./reader.worker.ts");
