import { defineConfig } from "vite";
import { enginesForBrowsers } from "./build/engines-for-browsers.ts";
import { icons } from "./build/icons.ts";
import { offlineFiles } from "./build/offline-files.ts";
import { sampleViews } from "./build/sample-views.ts";

const OWN_NAMES = ["index.html", "service-worker.ts"];

/** The page is built into web/dist, which the server hands out; `base` keeps it working below any path. */
export default defineConfig({
  root: import.meta.dirname,
  base: "./",
  plugins: [icons(), sampleViews(), offlineFiles()],
  build: {
    target: "es2022",
    // small files as data: addresses would need a wider content security policy
    assetsInlineLimit: 0,
    modulePreload: { polyfill: false },
    rolldownOptions: {
      checks: { bundlerTimings: false }, // packing takes most of it, as it should
      input: OWN_NAMES.map((name) => `${import.meta.dirname}/${name}`),
      output: {
        // a service worker keeps its name for ever: browsers look there for a newer one
        entryFileNames: ({ name }) => (name === "service-worker" ? "[name].js" : "assets/[name]-[hash].js"),
      },
    },
  },
  worker: {
    format: "es",
    plugins: () => [enginesForBrowsers()],
    rolldownOptions: {
      // `build/offline-files.ts` tells by the folder what only a reading needs
      output: {
        entryFileNames: "assets/[name]-[hash].js",
        chunkFileNames: ({ name }) =>
          `${["read-photo", "write-pdf"].includes(name) ? "reading" : "assets"}/[name]-[hash].js`,
        assetFileNames: "reading/[name]-[hash][extname]",
      },
    },
  },
  server: { proxy: { "/api": "http://127.0.0.1:8737" } },
});
