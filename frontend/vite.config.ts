import { defineConfig } from "vite";

// Fixed names: the pages refer to app.js, bench.js, questions.js and app.css, the server tells the browser to ask again.
export default defineConfig({
  base: "/static/",
  publicDir: false,
  build: {
    outDir: "../src/lubberline/web/static",
    emptyOutDir: true,
    // Phones in a class are old: syntax of 2019, for Chrome 67, Firefox 68, Safari 13 and later.
    target: "es2019",
    cssCodeSplit: false,
    modulePreload: { polyfill: false },
    // The notices of the libraries that are bundled travel with them.
    license: { fileName: "notices.md" },
    rolldownOptions: {
      input: { app: "src/main.ts", aircraft: "src/aircraft/main.ts", bench: "src/bench/main.ts", questions: "src/questions/main.ts", class: "src/class/main.ts", projector: "src/projector/main.ts", teach: "src/teach/main.ts", records: "src/records/main.ts", sit: "src/sit/main.ts" },
      output: { entryFileNames: "[name].js", chunkFileNames: "[name].js", assetFileNames: "app.[ext]" },
    },
  },
});
