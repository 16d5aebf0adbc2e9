// The thread's entry: a new thread does not inherit the TypeScript loader of the one that started it.
import { register } from "tsx/esm/api";

register();
await import("./reader.worker.ts");
