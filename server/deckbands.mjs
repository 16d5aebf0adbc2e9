#!/usr/bin/env node
// The command's entry: TypeScript is run as it is, without a build.
import { register } from "tsx/esm/api";

register();
await import("./cli.ts");
