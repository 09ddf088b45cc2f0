// The ground under the instrument: a compass rose fixed to the Earth, with a soft shadow.

import { CanvasTexture, Group, Mesh, MeshBasicMaterial, PlaneGeometry } from "three";
import type { Scheme } from "../shapes/palette.ts";
import { ROSE } from "../shapes/sizes.ts";

const SIZE = 1024;
const SCALE = SIZE / 2 / (ROSE.outer + 4);

function paint(canvas: HTMLCanvasElement, scheme: Scheme): void {
  const pen = canvas.getContext("2d") as CanvasRenderingContext2D;
  pen.setTransform(1, 0, 0, 1, 0, 0);
  pen.clearRect(0, 0, SIZE, SIZE);
  pen.translate(SIZE / 2, SIZE / 2);
  const shadow = pen.createRadialGradient(0, 0, 0, 0, 0, 84 * SCALE);
  shadow.addColorStop(0, "rgba(0,0,0,0.20)");
  shadow.addColorStop(0.55, "rgba(0,0,0,0.12)");
  shadow.addColorStop(1, "rgba(0,0,0,0)");
  pen.fillStyle = shadow;
  pen.fillRect(-SIZE / 2, -SIZE / 2, SIZE, SIZE);
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

export interface Rose {
  group: Group;
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
  const group = new Group();
  group.add(mesh);
  return {
    group,
    colourBy: (scheme) => {
      paint(canvas, scheme);
      texture.needsUpdate = true;
    },
    dispose: () => {
      texture.dispose();
      material.dispose();
    },
  };
}
