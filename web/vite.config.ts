import { defineConfig } from "vite";

/** The page is built into web/dist, which the server hands out; `base` keeps it working below any path. */
export default defineConfig({
  root: import.meta.dirname,
  base: "./",
  build: {
    target: "es2022",
    // small files as data: addresses would need a wider content security policy
    assetsInlineLimit: 0,
    modulePreload: { polyfill: false },
  },
  server: { proxy: { "/api": "http://127.0.0.1:8737" } },
});
