// Gives the pages the light of the cutaway's model: worked out anew when a source of the model has changed.

import { createHash } from "node:crypto";
import { mkdirSync, readdirSync, readFileSync, renameSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { type Plugin, runnerImport } from "vite";

const HERE = import.meta.dirname;
const MODULE = "virtual:openness";
const ROOMS = ["air.ts", "arrows.ts", "parts", "shapes"];

function sourcesOf(cutaway: string): string[] {
  return ROOMS.flatMap((room) =>
    room.endsWith(".ts") ? [join(cutaway, room)] : readdirSync(join(cutaway, room)).sort().map((name) => join(cutaway, room, name)),
  );
}

/** A document without words of a school, whose canvas draws nothing, for the printed faces. */
function pretendDocument(): void {
  const pen: unknown = new Proxy(() => pen, { get: (_, name) => (name === Symbol.toPrimitive ? () => 0 : pen), set: () => true });
  Object.assign(globalThis, { document: { createElement: () => ({ getContext: () => pen }), getElementById: () => null } });
}

async function baked(frontend: string): Promise<string> {
  const sources = [join(frontend, "bake", "openness.ts"), ...sourcesOf(join(frontend, "src", "cutaway"))];
  const total = createHash("sha256");
  for (const path of sources) total.update(readFileSync(path));
  const folder = join(frontend, "node_modules", ".cache");
  const kept = join(folder, `openness-${total.digest("hex").slice(0, 20)}.txt`);
  try {
    return readFileSync(kept, "utf8");
  } catch {
    pretendDocument();
    const nothing: Plugin = { name: "no-openness", resolveId: (id) => (id === MODULE ? `\0${MODULE}` : null), load: (id) => (id === `\0${MODULE}` ? 'export default "";' : null) };
    const { module } = await runnerImport<{ bake: () => string }>(join(frontend, "bake", "openness.ts"), { root: frontend, plugins: [nothing] });
    const letters = module.bake();
    mkdirSync(folder, { recursive: true });
    writeFileSync(`${kept}.${process.pid}`, letters);
    renameSync(`${kept}.${process.pid}`, kept);
    return letters;
  }
}

export function openness(frontend: string = join(HERE, "..")): Plugin {
  return {
    name: "openness",
    resolveId: (id) => (id === MODULE ? `\0${MODULE}` : null),
    load: async (id) => (id === `\0${MODULE}` ? `export default ${JSON.stringify(await baked(frontend))};` : null),
  };
}
