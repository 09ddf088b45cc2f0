// Materials of the drawing: one lit metal, lines, and flat colours.

import { DoubleSide, LineBasicMaterial, type Material, MeshBasicMaterial } from "three";
import { METAL, type Scheme } from "./palette.ts";
import { Glass, lightFinely, Studio } from "../view/studio.ts";

export interface Finish {
  /** For parts of many colours. */
  metal: Studio;
  line: LineBasicMaterial;
  /** Of parts that step back. */
  faintLine: LineBasicMaterial;
  /** The inside of the case. */
  shell: Studio;
  glass: Glass;
  plain: (colour: string) => MeshBasicMaterial;
  paint: (colour: string, made?: Studio["made"]) => Studio;
  /** Light at every point of all surfaces, or only at their corners. */
  light: (fine: boolean) => void;
  colourBy: (scheme: Scheme) => void;
  dispose: () => void;
}

export function createFinish(): Finish {
  const materials: Material[] = [];
  const kept = <M extends Material>(material: M): M => {
    materials.push(material);
    return material;
  };
  const line = kept(new LineBasicMaterial());
  const faintLine = kept(new LineBasicMaterial());
  return {
    metal: kept(new Studio({ vertexColors: true })),
    line,
    faintLine,
    shell: kept(new Studio({ tint: METAL.shell })),
    glass: kept(new Glass()),
    plain: (colour) => kept(new MeshBasicMaterial({ color: colour, side: DoubleSide })),
    paint: (colour, made) => kept(new Studio({ tint: colour }, made)),
    light: (fine) => {
      for (const one of materials) if (one instanceof Studio || one instanceof Glass) lightFinely(one, fine);
    },
    colourBy: (scheme) => {
      line.color.set(scheme.line);
      faintLine.color.set(scheme.line).lerp(Studio.ground.value.set(scheme.ground), 0.78);
    },
    dispose: () => {
      for (const one of materials) one.dispose();
    },
  };
}
