// One rigid part of many pieces as one mesh and one set of edges, so that a frame costs few draw calls.

import { madeOf } from "./palette.ts";
import {
  BufferGeometry,
  Color,
  EdgesGeometry,
  Float32BufferAttribute,
  Group,
  LineSegments,
  type Material,
  Matrix4,
  Mesh,
} from "three";

/** Turns a body about x into one about y or z. */
export const ABOUT_Y = new Matrix4().set(0, 0, 1, 0, 1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 0, 1);
export const ABOUT_Z = new Matrix4().set(0, 1, 0, 0, 0, 0, 1, 0, 1, 0, 0, 0, 0, 0, 0, 1);

export const moved = (x: number, y: number, z: number, after = new Matrix4()): Matrix4 =>
  new Matrix4().makeTranslation(x, y, z).multiply(after);

const CREASE_DEG = 24;

export class Solid {
  private readonly places: number[] = [];
  private readonly normals: number[] = [];
  private readonly colours: number[] = [];
  private readonly materials: number[] = [];
  private readonly lines: number[] = [];

  /** Adds a piece, without edges where lines would only be noise. */
  add(piece: BufferGeometry, colour: string, where = new Matrix4(), edges = true): this {
    const plain = piece.index ? piece.toNonIndexed() : piece;
    plain.applyMatrix4(where);
    const given = new Color(colour);
    const [metal, polish] = madeOf(colour);
    const place = plain.getAttribute("position");
    const normal = plain.getAttribute("normal");
    for (let i = 0; i < place.count; i++) {
      this.places.push(place.getX(i), place.getY(i), place.getZ(i));
      this.normals.push(normal.getX(i), normal.getY(i), normal.getZ(i));
      this.colours.push(given.r, given.g, given.b);
      this.materials.push(metal, polish, 1);
    }
    if (edges) {
      for (const value of new EdgesGeometry(plain, CREASE_DEG).getAttribute("position").array) {
        this.lines.push(value);
      }
    }
    return this;
  }

  /** The part, with a name for picking. */
  build(name: string, surface: Material, line: Material): Group {
    const body = new BufferGeometry();
    body.setAttribute("position", new Float32BufferAttribute(this.places, 3));
    body.setAttribute("normal", new Float32BufferAttribute(this.normals, 3));
    body.setAttribute("color", new Float32BufferAttribute(this.colours, 3));
    body.setAttribute("material", new Float32BufferAttribute(this.materials, 3));
    const edges = new BufferGeometry();
    edges.setAttribute("position", new Float32BufferAttribute(this.lines, 3));
    const group = new Group();
    group.name = name;
    const mesh = new Mesh(body, surface);
    mesh.name = name;
    const drawn = new LineSegments(edges, line);
    drawn.raycast = () => undefined;
    group.add(mesh, drawn);
    return group;
  }
}
