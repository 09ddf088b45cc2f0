import { defineConfig } from "vite";
import { openness } from "../bake/plugin.ts";

// For looking at the cutaway by itself, and for its tests; never part of a wheel. Run in `frontend/`.
export default defineConfig({
  root: "demo",
  plugins: [openness()],
  base: "./",
  build: { emptyOutDir: true, rolldownOptions: { input: "demo/cutaway.html" } },
});
