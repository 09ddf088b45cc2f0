import { defineConfig } from "vite";

// Fixed names: the page refers to app.js and app.css, the server tells the browser to ask again.
export default defineConfig({
  base: "/static/",
  publicDir: false,
  build: {
    outDir: "../src/lubberline/web/static",
    emptyOutDir: true,
    cssCodeSplit: false,
    modulePreload: { polyfill: false },
    rolldownOptions: {
      input: "src/main.ts",
      output: { entryFileNames: "app.js", assetFileNames: "app.[ext]", codeSplitting: false },
    },
  },
});
