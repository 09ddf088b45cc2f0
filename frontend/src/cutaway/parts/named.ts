// The pieces of each named part, and the part that is spoken of: it glows, and the rest steps back.

import {
  Box3,
  type BufferGeometry,
  Float32BufferAttribute,
  type LineSegments,
  type Material,
  type Matrix4,
  type Mesh,
  MeshBasicMaterial,
  type Object3D,
  Vector3,
} from "three";
import { type Part, PARTS } from "../frame.ts";
import type { Finish } from "../shapes/finish.ts";
import { Studio } from "../view/studio.ts";

/** Parts that belong to a larger one, which is spoken of with them. */
const WITHIN: Partial<Record<Part, Part>> = { buckets: "rotor" };

/** The part that an object belongs to: the nearest name on the way up. */
export function partOf(object: Object3D): Part | null {
  for (let one: Object3D | null = object; one; one = one.parent) if (one.name in PARTS) return one.name as Part;
  return null;
}

/** Whether the second is the first or a piece of it. */
export const belongs = (part: Part, piece: Part | null): boolean => piece === part || (piece !== null && WITHIN[piece] === part);

/** The equipment along the hoses: while one of it is spoken of, the hoses keep the colours of their pressure. */
const ALONG_HOSES: readonly (Part | null)[] = ["filter", "regulator", "pump", "suction-gauge", "hose"];

export function isShown(object: Object3D): boolean {
  for (let one: Object3D | null = object; one; one = one.parent) if (!one.visible) return false;
  return true;
}

/** Gives a geometry its material's values at each corner, where it does not have its own. */
function sayMaterial(geometry: BufferGeometry, [metal, polish]: Studio["made"]): void {
  if (geometry.hasAttribute("material")) return;
  const values = Array.from({ length: geometry.getAttribute("position").count }, () => [metal, polish, 1]).flat();
  geometry.setAttribute("material", new Float32BufferAttribute(values, 3));
}

const FAINT = 0.3;

type Drawn = (Mesh | LineSegments) & { material: Material };
interface Piece {
  drawn: Drawn;
  part: Part | null;
}

export class Named {
  private readonly pieces: Piece[] = [];
  private spoken: Part | null = null;
  /** What is named besides neither glows nor steps back. */
  private mentioned: readonly Part[] = [];

  constructor(
    body: Object3D,
    private readonly finish: Finish,
  ) {
    body.traverse((one) => {
      if (!("geometry" in one)) return;
      const drawn = one as Drawn;
      const part = partOf(one);
      this.pieces.push({ drawn, part });
      const { material } = drawn;
      if (!(material instanceof Studio)) return;
      sayMaterial(drawn.geometry, material.made);
      // Pieces share materials: each says before it is drawn whether it glows (1) or steps back (-1).
      drawn.onBeforeRender = () => {
        material.glow = this.spoken !== null && belongs(this.spoken, part) ? 1 : this.stays(part) ? 0 : -1;
      };
    });
  }

  /** Whether a piece is drawn as if nothing were spoken of, or glows. */
  private stays(piece: Part | null): boolean {
    if (this.spoken === null || belongs(this.spoken, piece)) return true;
    if (piece === "hose" && ALONG_HOSES.includes(this.spoken)) return true;
    return this.mentioned.some((one) => belongs(one, piece));
  }

  speakOf(part: Part | null, mentioned: readonly Part[]): void {
    if (part === this.spoken && mentioned.join() === this.mentioned.join()) return;
    [this.spoken, this.mentioned] = [part, mentioned];
    const { line, faintLine } = this.finish;
    for (const { drawn, part: own } of this.pieces) {
      if (own && own !== "spin-axis" && drawn.material instanceof MeshBasicMaterial) {
        // Printed faces have no light to step back in: what is behind them shows through.
        drawn.material.transparent = !this.stays(own);
        drawn.material.opacity = drawn.material.transparent ? FAINT : 1;
      }
      if (drawn.material !== line && drawn.material !== faintLine) continue;
      drawn.material = this.stays(own) ? line : faintLine;
    }
  }

  /** The box that a part fills at the moment, in the given axes; null while it is not drawn. */
  boxOf(part: Part, toAxes: Matrix4): Box3 | null {
    const box = new Box3();
    const corner = new Vector3();
    for (const { drawn, part: own } of this.pieces) {
      if (!belongs(part, own) || !isShown(drawn)) continue;
      const { geometry } = drawn;
      if (!geometry.boundingBox) geometry.computeBoundingBox();
      const { min, max } = geometry.boundingBox as Box3;
      for (let i = 0; i < 8; i++) {
        corner.set(i & 1 ? min.x : max.x, i & 2 ? min.y : max.y, i & 4 ? min.z : max.z);
        box.expandByPoint(corner.applyMatrix4(drawn.matrixWorld).applyMatrix4(toAxes));
      }
    }
    return box.isEmpty() ? null : box;
  }
}
