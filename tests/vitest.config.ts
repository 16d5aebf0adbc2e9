import { defineConfig } from "vitest/config";
import { KEYS } from "./server/bucket.ts";

/** What keeps something: it runs a second time with everything kept in PostgreSQL and a bucket. */
const TWICE = [
  [
    "storage",
    "jobs",
    "api",
    "uploads",
    "hostile",
    "people",
    "passkeys",
    "care",
    "alarms",
    "drift",
    "earlier",
    "expected",
  ],
  ["gallery", "made-deck", "mark-ups", "packs", "reviews", "report", "run-log", "run-money", "sampling", "whole-run"],
].flat();

export default defineConfig({
  root: new URL("..", import.meta.url).pathname,
  test: {
    testTimeout: 60_000,
    hookTimeout: 60_000,
    maxWorkers: 2,
    // opencv-wasm answers to `then`: letting Vitest unwrap its default export would wait for ever
    deps: { interopDefault: false },
    projects: [
      { extends: true, test: { name: "here", include: ["tests/**/*.test.ts"] } },
      {
        extends: true,
        test: {
          name: "elsewhere",
          include: TWICE.map((name) => `tests/server/${name}.test.ts`),
          env: KEYS,
          globalSetup: "tests/server/kept-elsewhere.ts",
        },
      },
    ],
  },
});
