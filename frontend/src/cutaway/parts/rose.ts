// The ground under the instrument: a compass rose fixed to the Earth, and the soft shadow of the case.

import { CanvasTexture, Group, Mesh, MeshBasicMaterial, PlaneGeometry } from "three";
import type { Scheme } from "../shapes/palette.ts";
import { CASE, ROSE } from "../shapes/sizes.ts";

const SIZE = 1024;
const SHADOW_REACH = 100;
const SCALE = SIZE / 2 / (ROSE.outer + 4);

function paint(canvas: HTMLCanvasElement, scheme: Scheme): void {
  const pen = canvas.getContext("2d") as CanvasRenderingContext2D;
  pen.setTransform(1, 0, 0, 1, 0, 0);
  pen.clearRect(0, 0, SIZE, SIZE);
  pen.translate(SIZE / 2, SIZE / 2);
  pen.strokeStyle = pen.fillStyle = scheme.soft;
  pen.lineWidth = 4;
  pen.beginPath();
  pen.arc(0, 0, ROSE.inner * SCALE, 0, 2 * Math.PI);
  pen.stroke();
  pen.textAlign = "center";
  pen.textBaseline = "middle";
  for (let degrees = 0; degrees < 360; degrees += 10) {
    pen.save();
    pen.rotate((degrees * Math.PI) / 180);
    pen.fillRect(-2, -ROSE.inner * SCALE, 4, (degrees % 30 === 0 ? 9 : 5) * SCALE);
    if (degrees % 90 === 0) {
      pen.font = `700 ${22 * SCALE}px sans-serif`;
      pen.fillText("NESW"[degrees / 90] as string, 0, -(ROSE.inner + 14) * SCALE);
    }
    pen.restore();
  }
}

/** The case's outline, blurred: dark where it is near the ground, soft further out. */
function shadowTexture(): CanvasTexture {
  const canvas = document.createElement("canvas");
  const size = (canvas.width = canvas.height = 256);
  const pen = canvas.getContext("2d") as CanvasRenderingContext2D;
  const half = (size / 2) * (CASE.half / SHADOW_REACH);
  // Only the shadows of shapes outside the canvas: a blur that every browser has.
  pen.shadowOffsetX = 2 * size;
  for (const [blur, dark, share] of [[60, 0.22, 1], [26, 0.16, 0.86], [10, 0.1, 0.7]] as const) {
    pen.shadowBlur = blur;
    pen.shadowColor = `rgba(0,0,0,${dark})`;
    pen.fillRect(size / 2 - half * share - 2 * size, size / 2 - half * share, 2 * half * share, 2 * half * share);
  }
  return new CanvasTexture(canvas);
}

export interface Rose {
  group: Group;
  /** Turns with the case's heading. */
  shadow: Group;
  colourBy: (scheme: Scheme) => void;
  dispose: () => void;
}

/** Lies in the level frame: north along x, east along y, seen from above. */
export function makeRose(): Rose {
  const canvas = document.createElement("canvas");
  canvas.width = canvas.height = SIZE;
  const texture = new CanvasTexture(canvas);
  const material = new MeshBasicMaterial({ map: texture, transparent: true, depthWrite: false });
  const side = 2 * (ROSE.outer + 4);
  const mesh = new Mesh(new PlaneGeometry(side, side), material);
  mesh.raycast = () => undefined;
  // The picture's up (y) is north (x), its right (x) is east (y); its face looks up (-z).
  mesh.matrix.set(0, 1, 0, 0, 1, 0, 0, 0, 0, 0, -1, ROSE.z, 0, 0, 0, 1);
  mesh.matrixAutoUpdate = false;
  const cast = new MeshBasicMaterial({ map: shadowTexture(), transparent: true, depthWrite: false });
  const shade = new Mesh(new PlaneGeometry(2 * SHADOW_REACH, 2 * SHADOW_REACH), cast);
  shade.raycast = () => undefined;
  shade.matrix.copy(mesh.matrix).setPosition(0, 0, ROSE.z - 0.2);
  shade.matrixAutoUpdate = false;
  const shadow = new Group().add(shade);
  const group = new Group().add(mesh, shadow);
  return {
    group,
    shadow,
    colourBy: (scheme) => {
      paint(canvas, scheme);
      texture.needsUpdate = true;
    },
    dispose: () => {
      texture.dispose();
      cast.map?.dispose();
      cast.dispose();
      material.dispose();
    },
  };
}
