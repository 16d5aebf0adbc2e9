import { defineConfig } from "vitest/config";

export default defineConfig({
  root: new URL("..", import.meta.url).pathname,
  test: {
    include: ["tests/**/*.test.ts"],
    testTimeout: 60_000,
    hookTimeout: 60_000,
    maxWorkers: 2,
    // opencv-wasm answers to `then`: letting Vitest unwrap its default export would wait for ever
    deps: { interopDefault: false },
  },
});
