import { readdirSync } from "node:fs";
import { defineConfig } from "vite";
import { openness } from "./bake/plugin.ts";

// Fixed names: a page refers to base.css and to its own NAME.js and NAME.css, the server tells the browser to ask again.
const pages = Object.fromEntries(readdirSync("src/pages").map((name) => [name, `src/pages/${name}/main.ts`]));

export default defineConfig({
  plugins: [openness()],
  base: "/static/",
  publicDir: false,
  build: {
    outDir: "../src/lubberline/web/static",
    emptyOutDir: true,
    // Phones in a class are old: syntax of 2019, for Chrome 67, Firefox 68, Safari 13 and later.
    target: "es2019",
    modulePreload: { polyfill: false },
    // The notices of the libraries that are bundled travel with them.
    license: { fileName: "notices.md" },
    rolldownOptions: {
      input: { base: "src/shared/styles/index.css", ...pages },
      output: { entryFileNames: "[name].js", chunkFileNames: "[name].js", assetFileNames: "[name].[ext]" },
    },
  },
});
