// The air at a moment: pressure and flow of each stretch, and marks that travel along it.

import { Color, InstancedMesh, Matrix4, Vector3 } from "three";
import type { Finish } from "./shapes/finish.ts";
import type { AirFrame, BenchFrame } from "./frame.ts";
import type { Hose, Stretch } from "./parts/hoses.ts";
import { turned } from "./shapes/turned.ts";

/** How far the pressure of a stretch is below the cabin's. */
export function belowCabin_inhg(stretch: Stretch, air: AirFrame): number {
  if (stretch === "filtered" || stretch === "inside") return air.filter_inhg;
  return stretch === "manifold" || stretch === "sensed" ? air.manifold_inhg : 0;
}

export function flow_g_s(stretch: Stretch, air: AirFrame): number {
  if (stretch === "sensed") return 0;
  if (stretch === "spill") return air.regulator_g_s;
  return stretch === "manifold" || stretch === "exhaust" ? air.pump_g_s : air.instrument_g_s;
}

/** The marks' position between two spacings; the same at every pace of time. */
export function phaseOf(frame: BenchFrame): number {
  const steady_s = frame.time_s / Math.max(1, frame.pace);
  return (0.8 * steady_s) % 1;
}

const APART_MM = 15;
const LEAST_FLOW_G_S = 0.01;

export interface Marks {
  mesh: InstancedMesh;
  place: (phase: number, flow_g_s: number) => void;
}

/** Collars that point downstream; none without flow. */
export function makeMarks(hose: Hose, wide: number, finish: Finish): Marks {
  const collar = turned([[-4, 1.2], [-4, 2.3], [4, 0.9]], 16).scale(1, wide, wide);
  const count = Math.max(1, Math.floor(hose.curve.getLength() / APART_MM));
  const mesh = new InstancedMesh(collar, finish.plain("#ffffff"), count);
  mesh.frustumCulled = false;
  mesh.raycast = () => undefined;
  mesh.name = "hose";
  const place = new Matrix4();
  const [here, along, up] = [new Vector3(), new Vector3(), new Vector3(0, 1, 0)];
  const across = new Vector3();
  return {
    mesh,
    place: (phase, flow) => {
      mesh.visible = flow > LEAST_FLOW_G_S;
      if (!mesh.visible) return;
      for (let i = 0; i < count; i++) {
        const share = (i + phase) / count;
        hose.curve.getPointAt(share, here);
        hose.curve.getTangentAt(share, along);
        across.crossVectors(along, up).normalize();
        place.makeBasis(along, up, across).setPosition(here);
        mesh.setMatrixAt(i, place);
      }
      mesh.instanceMatrix.needsUpdate = true;
    },
  };
}

export const markColour = (dark: boolean): Color => new Color(dark ? "#f4f1e8" : "#1c2329");
