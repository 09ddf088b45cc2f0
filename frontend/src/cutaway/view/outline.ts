// How much of the picture the instrument fills: case and mechanism, without the air path outside and the arrows.

import { Color, DoubleSide, MeshBasicMaterial, type Object3D, WebGLRenderTarget } from "three";
import type { Part } from "../frame.ts";
import { partOf } from "../parts/named.ts";
import type { Stage } from "./stage.ts";

/** Shares of the picture, 0 to 1, from its left and from its top. */
export interface Outline {
  area: number;
  left: number;
  right: number;
  top: number;
  foot: number;
}

const OUTSIDE: ReadonlySet<Part> = new Set(["filter", "hose", "regulator", "suction-gauge", "pump", "spin-axis"] as const);
const ACROSS = 480;

/** The silhouette of the picture drawn last, counted in points of a small picture of it. */
export function outlineOf({ renderer, camera, model: { scene } }: Stage): Outline {
  const down = Math.round(ACROSS / camera.aspect);
  const target = new WebGLRenderTarget(ACROSS, down);
  const white = new MeshBasicMaterial({ color: "#ffffff", side: DoubleSide });
  const away: Object3D[] = [];
  scene.traverse((one) => {
    if (!("geometry" in one) || !one.visible) return;
    const part = partOf(one);
    if (part && !OUTSIDE.has(part)) return;
    one.visible = false;
    away.push(one);
  });
  const ground = renderer.getClearColor(new Color());
  const points = new Uint8Array(4 * ACROSS * down);
  scene.overrideMaterial = white;
  renderer.setRenderTarget(target);
  renderer.setClearColor("#000000");
  renderer.render(scene, camera);
  renderer.readRenderTargetPixels(target, 0, 0, ACROSS, down, points);
  renderer.setRenderTarget(null);
  renderer.setClearColor(ground);
  scene.overrideMaterial = null;
  for (const one of away) one.visible = true;
  target.dispose();
  white.dispose();
  return counted(points, down);
}

function counted(points: Uint8Array, down: number): Outline {
  let [filled, left, right, top, foot] = [0, ACROSS, 0, down, 0];
  for (let at = 0; at < ACROSS * down; at++) {
    if ((points[4 * at] ?? 0) < 128) continue;
    const x = at % ACROSS;
    // The rows are read from below.
    const y = down - 1 - Math.floor(at / ACROSS);
    filled += 1;
    [left, right] = [Math.min(left, x), Math.max(right, x + 1)];
    [top, foot] = [Math.min(top, y), Math.max(foot, y + 1)];
  }
  return { area: filled / (ACROSS * down), left: left / ACROSS, right: right / ACROSS, top: top / down, foot: foot / down };
}
