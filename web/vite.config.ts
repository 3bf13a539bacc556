/// <reference types="vitest/config" />
import { fileURLToPath } from "node:url";
import preact from "@preact/preset-vite";
import { defineConfig } from "vite";
import { VitePWA } from "vite-plugin-pwa";
import app from "./package.json" with { type: "json" };
import { catalogues } from "./scripts/catalogues.ts";
import { foldFiles } from "./scripts/fold_files.ts";
import { packed } from "./scripts/packed.ts";

/** The development server hands these on to `fallowside serve`, so that page and service share one origin. */
const SERVICE = "http://127.0.0.1:8000";

/** The app's words live beside the service, which says the same ones on the command line. */
const WORDS = fileURLToPath(new URL("../server/fallowside/words", import.meta.url));

/** Tests of units run no Python; they are told of no files. */
const fold = process.env["VITEST"] ? null : await foldFiles();

/**
 * What every start needs comes as two files, abreast: files of a few bytes would each take a connection of
 * their own at home, where there is no HTTP/2, and one file alone would wait for its own line to warm up.
 */
const FIRST = [
  {
    name: "base",
    tags: ["$initial" as const],
    test: /node_modules|src.(core|generated|log|words)/,
    priority: 1,
  },
  { name: "first", tags: ["$initial" as const] },
];

export default defineConfig({
  define: {
    __APP_VERSION__: JSON.stringify(app.version),
    __FOLD__: JSON.stringify(fold?.described ?? null),
  },
  resolve: { alias: { "@words": WORDS } },
  plugins: [
    preact(),
    catalogues(`${WORDS}/parts`),
    fold?.plugin,
    packed(),
    VitePWA({
      strategies: "injectManifest",
      srcDir: "src",
      filename: "sw.ts",
      // The page registers the worker itself, and public/manifest.webmanifest is the manifest.
      injectRegister: false,
      manifest: false,
      injectManifest: {
        // The icons' pictures are fetched by whoever puts the app on a home screen; pages show none.
        globPatterns: ["**/*.{html,js,css,json,svg,woff2,webmanifest}"],
        globIgnores: ["assets/fold/**"],
      },
    }),
  ],
  build: {
    target: "es2022",
    sourcemap: false,
    rolldownOptions: { output: { codeSplitting: { groups: FIRST } } },
  },
  worker: { format: "es" },
  optimizeDeps: { exclude: ["pyodide"] },
  server: { proxy: { "/api": SERVICE }, fs: { allow: [".", WORDS] } },
  test: {
    environment: "happy-dom",
    setupFiles: ["src/testing/words.ts"],
    include: ["src/**/*.test.{ts,tsx}"],
    restoreMocks: true,
    unstubGlobals: true,
  },
});
