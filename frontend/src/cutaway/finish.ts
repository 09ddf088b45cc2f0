// Materials of the drawing: one metal lit from the eye's upper left, lines, and what glows by itself.

import {
  BackSide,
  CanvasTexture,
  DoubleSide,
  LineBasicMaterial,
  type Material,
  MeshBasicMaterial,
  MeshMatcapMaterial,
  SRGBColorSpace,
} from "three";
import { type Scheme, METAL } from "./palette.ts";

const SIDE = 128;

/** A ball lit by one soft window and a little light from below, the pattern of every surface. */
function ball(): CanvasTexture {
  const canvas = document.createElement("canvas");
  canvas.width = canvas.height = SIDE;
  const pen = canvas.getContext("2d") as CanvasRenderingContext2D;
  const shade = (x: number, y: number, radius: number, stops: [number, string][]): void => {
    const fill = pen.createRadialGradient(x * SIDE, y * SIDE, 0, x * SIDE, y * SIDE, radius * SIDE);
    for (const [place, colour] of stops) fill.addColorStop(place, colour);
    pen.fillStyle = fill;
    pen.fillRect(0, 0, SIDE, SIDE);
  };
  shade(0.38, 0.3, 0.82, [
    [0, "#ffffff"],
    [0.35, "#e2e2e0"],
    [0.7, "#a3a5a6"],
    [1, "#5f6366"],
  ]);
  shade(0.72, 0.86, 0.34, [
    [0, "rgba(190,200,210,0.55)"],
    [1, "rgba(190,200,210,0)"],
  ]);
  const texture = new CanvasTexture(canvas);
  texture.colorSpace = SRGBColorSpace;
  return texture;
}

export interface Finish {
  metal: MeshMatcapMaterial;
  line: LineBasicMaterial;
  shell: MeshMatcapMaterial;
  shellLine: LineBasicMaterial;
  plain: (colour: string) => MeshBasicMaterial;
  paint: (colour: string) => MeshMatcapMaterial;
  colourBy: (scheme: Scheme) => void;
  dispose: () => void;
}

export function createFinish(): Finish {
  const matcap = ball();
  // Surfaces stand a little back, so that lines on them are not half swallowed.
  const offset = { polygonOffset: true, polygonOffsetFactor: 1, polygonOffsetUnits: 1 };
  const made: Material[] = [];
  const kept = <M extends Material>(material: M): M => {
    made.push(material);
    return material;
  };
  const line = kept(new LineBasicMaterial());
  const shellLine = kept(new LineBasicMaterial());
  return {
    metal: kept(new MeshMatcapMaterial({ matcap, vertexColors: true, ...offset })),
    line,
    // Only the walls behind the works are drawn: from everywhere one looks into the case.
    shell: kept(new MeshMatcapMaterial({ matcap, color: METAL.shell, side: BackSide, ...offset })),
    shellLine,
    plain: (colour) => kept(new MeshBasicMaterial({ color: colour, side: DoubleSide, ...offset })),
    paint: (colour) => kept(new MeshMatcapMaterial({ matcap, color: colour, ...offset })),
    colourBy: (scheme) => {
      line.color.set(scheme.line);
      shellLine.color.set(scheme.soft);
    },
    dispose: () => {
      for (const one of made) one.dispose();
      matcap.dispose();
    },
  };
}
