// Arrows, built once: a straight one for an axis and a curved one round it in the right-hand sense.

import { type BufferGeometry, GreaterDepth, Group, Mesh, type MeshBasicMaterial, Vector3 } from "three";
import type { Finish } from "./finish.ts";
import { Surface, turned } from "./turned.ts";

/** An arrow's colour, and a fainter one where metal is in front of it. */
export interface Paint {
  near: MeshBasicMaterial;
  behind: MeshBasicMaterial;
}

export function arrowPaint(finish: Finish): Paint {
  const behind = finish.plain("#ffffff");
  Object.assign(behind, { transparent: true, opacity: 0.45, depthFunc: GreaterDepth, depthWrite: false });
  return { near: finish.plain("#ffffff"), behind };
}

function painted(piece: BufferGeometry, paint: Paint): Group {
  const group = new Group();
  const behind = new Mesh(piece, paint.behind);
  behind.renderOrder = 1;
  group.add(new Mesh(piece, paint.near), behind);
  return group;
}

export interface Arrow {
  group: Group;
  paint: Paint;
  /** Length from the foot to the point. */
  stretch: (from: number, to: number) => void;
}

export type Kind = "single" | "double" | "dashed";

const HEAD = 10;
const head = (radius: number): ReturnType<typeof turned> =>
  turned([[-HEAD, 0], [-HEAD, radius], [0, 0]], 16);

/** An arrow along x: one head, two heads (the usual sign for a torque), or a dashed shaft. */
export function makeArrow(kind: Kind, paint: Paint): Arrow {
  const group = new Group();
  const dashes = kind === "dashed" ? 5 : 1;
  const shaft = new Group();
  for (let i = 0; i < dashes; i++) {
    const end = dashes === 1 ? 1 : (i + 0.62) / dashes;
    shaft.add(painted(turned([[i / dashes, 0], [i / dashes, 1.5], [end, 1.5], [end, 0]], 10), paint));
  }
  const tip = painted(head(4.6), paint);
  const second = painted(head(4.6), paint);
  second.visible = kind === "double";
  group.add(shaft, tip, second);
  return {
    group,
    paint,
    stretch: (from, to) => {
      shaft.position.x = from;
      shaft.scale.x = Math.max(to - HEAD * 0.8 - from, 0.01);
      tip.position.x = to;
      second.position.x = to - HEAD * 0.8;
    },
  };
}

/** An arc about x that ends in a head: the fingers of the right hand when the thumb points along x. */
export function makeCurl(radius: number, paint: Paint, sweep = 4.4, thick = 1.3): Group {
  const group = new Group();
  const surface = new Surface();
  const steps = 24;
  const place = (k: number, j: number): [Vector3, Vector3] => {
    const along = (sweep * k) / steps;
    const round = (j * Math.PI) / 4;
    const out = new Vector3(Math.sin(round), Math.cos(round) * Math.sin(along), -Math.cos(round) * Math.cos(along));
    const middle = new Vector3(0, radius * Math.sin(along), -radius * Math.cos(along));
    return [middle.addScaledVector(out, thick), out];
  };
  for (let k = 0; k < steps; k++) {
    for (let j = 0; j < 8; j++) {
      const four = [place(k, j), place(k + 1, j), place(k + 1, j + 1), place(k, j + 1)];
      surface.quad(four.map(([one]) => one), four.map(([, out]) => out));
    }
  }
  const point = painted(head(4), paint);
  // The head follows the arc's end, towards growing angles.
  point.rotation.set(0, 0, Math.PI / 2);
  const end = new Group();
  end.rotation.x = sweep + 6 / radius;
  point.position.set(0, 0, -radius);
  end.add(point);
  group.add(painted(surface.geometry(), paint), end);
  return group;
}
