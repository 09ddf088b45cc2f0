// How open each corner of a surface is to the light: worked out with rays when the pages are built (`bake/`), written
// as one letter for each corner, and read into the model, so that every picture has it at no cost.

import type { Mesh, Object3D } from "three";
import { Studio } from "../view/studio.ts";
import { welded } from "../shapes/weld.ts";

const LETTERS = 32;
const FIRST = 48;
export const LEAST_OPEN = 0.3;

/** What the light falls on, in the order in which its corners are written. */
export function litOf(body: Object3D): Mesh[] {
  const found: Mesh[] = [];
  body.traverse((one) => {
    if ("isMesh" in one && (one as Mesh).material instanceof Studio) found.push(one as Mesh);
  });
  return found;
}

export const written = (open: ArrayLike<number>): string =>
  Array.from(open, (value) => String.fromCharCode(FIRST + Math.round(((value - LEAST_OPEN) / (1 - LEAST_OPEN)) * (LETTERS - 1)))).join("");

/** Reads what was baked into a model of loose triangles, and makes it one with few corners. */
export function readOpenness(body: Object3D, baked: string): void {
  const lit = litOf(body);
  const corners = lit.reduce((sum, { geometry }) => sum + geometry.getAttribute("material").count, 0);
  if (corners !== baked.length) throw new Error(`the light was worked out for ${baked.length} corners, and the model has ${corners}`);
  let at = 0;
  for (const mesh of lit) {
    const material = mesh.geometry.getAttribute("material");
    for (let i = 0; i < material.count; i++) {
      const step = (baked.charCodeAt(at++) - FIRST) / (LETTERS - 1);
      material.setZ(i, LEAST_OPEN + (1 - LEAST_OPEN) * step);
    }
    mesh.geometry = welded(mesh.geometry);
  }
}
