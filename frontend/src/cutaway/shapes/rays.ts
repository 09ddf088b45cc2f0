// Rays against the triangles of one geometry, found through a grid of cells: for the occlusion that is baked into
// the surfaces, and for whether a point can be seen.

const CELLS = 28;

type Triple = [number, number, number];
interface Point {
  x: number;
  y: number;
  z: number;
}

export class Rays {
  private readonly low: Triple;
  private readonly size: Triple;
  private readonly count: Triple;
  private readonly cells = new Map<number, number[]>();

  /** Of the corners of triangles, met from their front only, unless both sides are drawn. */
  constructor(
    private readonly corners: ArrayLike<number>,
    private readonly bothSides: boolean,
    /** Cells along its longest side. */
    cells = CELLS,
  ) {
    const min = { x: Infinity, y: Infinity, z: Infinity };
    const max = { x: -Infinity, y: -Infinity, z: -Infinity };
    for (let i = 0; i < corners.length; i++) {
      const axis = (["x", "y", "z"] as const)[i % 3] as "x" | "y" | "z";
      min[axis] = Math.min(min[axis], corners[i] as number);
      max[axis] = Math.max(max[axis], corners[i] as number);
    }
    const spans = [max.x - min.x, max.y - min.y, max.z - min.z] as Triple;
    const cell = Math.max(...spans) / cells || 1;
    this.low = [min.x - 1e-3, min.y - 1e-3, min.z - 1e-3];
    this.count = spans.map((span) => Math.max(1, Math.ceil((span + 2e-3) / cell))) as Triple;
    this.size = spans.map((span, axis) => (span + 2e-3) / (this.count[axis] as number)) as Triple;
    for (let first = 0; first + 8 < this.corners.length; first += 9) this.enter(first);
  }

  private place(value: number, axis: 0 | 1 | 2): number {
    return Math.min(Math.max(Math.floor((value - this.low[axis]) / this.size[axis]), 0), this.count[axis] - 1);
  }

  private enter(first: number): void {
    const at = this.corners as number[];
    const range = ([0, 1, 2] as const).map((axis) => {
      const values = [at[first + axis], at[first + 3 + axis], at[first + 6 + axis]] as Triple;
      return [this.place(Math.min(...values), axis), this.place(Math.max(...values), axis)] as const;
    }) as [readonly [number, number], readonly [number, number], readonly [number, number]];
    for (let i = range[0][0]; i <= range[0][1]; i++) {
      for (let j = range[1][0]; j <= range[1][1]; j++) {
        for (let k = range[2][0]; k <= range[2][1]; k++) {
          const key = (k * this.count[1] + j) * this.count[0] + i;
          const held = this.cells.get(key);
          if (held) held.push(first);
          else this.cells.set(key, [first]);
        }
      }
    }
  }

  /** Distance to what is met first from a point along a unit direction, between two distances; infinity for nothing. */
  nearest(from: Point, to: Point, near: number, far: number): number {
    const o = [from.x, from.y, from.z] as Triple;
    const d = [to.x, to.y, to.z] as Triple;
    let [enter, leave] = [near, far];
    for (const axis of [0, 1, 2] as const) {
      const inverse = 1 / (Math.abs(d[axis]) < 1e-9 ? 1e-9 : d[axis]);
      const a = (this.low[axis] - o[axis]) * inverse;
      const b = (this.low[axis] + this.size[axis] * this.count[axis] - o[axis]) * inverse;
      enter = Math.max(enter, Math.min(a, b));
      leave = Math.min(leave, Math.max(a, b));
    }
    if (enter > leave) return Infinity;
    const cell = [0, 0, 0] as Triple;
    const step = [0, 0, 0] as Triple;
    const next = [0, 0, 0] as Triple;
    const span = [0, 0, 0] as Triple;
    for (const axis of [0, 1, 2] as const) {
      const along = Math.abs(d[axis]) < 1e-9 ? 1e-9 : d[axis];
      cell[axis] = this.place(o[axis] + d[axis] * enter, axis);
      step[axis] = along > 0 ? 1 : -1;
      const edge = this.low[axis] + this.size[axis] * (cell[axis] + (along > 0 ? 1 : 0));
      next[axis] = (edge - o[axis]) / along;
      span[axis] = this.size[axis] / Math.abs(along);
    }
    let met = far;
    for (;;) {
      for (const first of this.cells.get((cell[2] * this.count[1] + cell[1]) * this.count[0] + cell[0]) ?? []) {
        const here = this.meets(first, o, d);
        if (here > near && here < met) met = here;
      }
      const axis = next[0] < next[1] ? (next[0] < next[2] ? 0 : 2) : next[1] < next[2] ? 1 : 2;
      // What was met beyond this cell may have something in front of it in the next one.
      if (met < far && met <= next[axis]) return met;
      if (next[axis] > leave) return met < far ? met : Infinity;
      cell[axis] += step[axis];
      if (cell[axis] < 0 || cell[axis] >= this.count[axis]) return met < far ? met : Infinity;
      next[axis] += span[axis];
    }
  }

  /** Distance along the ray to a triangle, or infinity. */
  private meets(first: number, o: Triple, d: Triple): number {
    const at = this.corners as number[];
    const [x, y, z] = [at[first], at[first + 1], at[first + 2]] as Triple;
    const [ax, ay, az] = [(at[first + 3] as number) - x, (at[first + 4] as number) - y, (at[first + 5] as number) - z];
    const [bx, by, bz] = [(at[first + 6] as number) - x, (at[first + 7] as number) - y, (at[first + 8] as number) - z];
    const [px, py, pz] = [d[1] * bz - d[2] * by, d[2] * bx - d[0] * bz, d[0] * by - d[1] * bx];
    const det = ax * px + ay * py + az * pz;
    if (this.bothSides ? Math.abs(det) < 1e-12 : det < 1e-12) return Infinity;
    const [tx, ty, tz] = [o[0] - x, o[1] - y, o[2] - z];
    const u = (tx * px + ty * py + tz * pz) / det;
    if (u < 0 || u > 1) return Infinity;
    const [qx, qy, qz] = [ty * az - tz * ay, tz * ax - tx * az, tx * ay - ty * ax];
    const v = (d[0] * qx + d[1] * qy + d[2] * qz) / det;
    if (v < 0 || u + v > 1) return Infinity;
    return (bx * qx + by * qy + bz * qz) / det;
  }
}
