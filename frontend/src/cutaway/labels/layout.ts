// Places labels in the picture: no label lies over another, over a dial's face or over a line, and no two lines
// cross. Each takes the first of its possible places that is free; one without a place is left out.

import { type PerspectiveCamera, Vector3 } from "three";
import type { Part } from "../frame.ts";
import type { Label } from "./label.ts";

export interface Spot {
  x: number;
  y: number;
}

export type Line = readonly [from: Spot, to: Spot];

export interface Box {
  left: number;
  top: number;
  right: number;
  bottom: number;
}

export interface Placed extends Spot {
  text: string;
  part: Part | null;
  colour: string;
  align: "left" | "right" | "center";
  box: Box;
  /** The line to its part: from the label to the point on the part; absent for a label at its point. */
  line?: Line;
}

export interface Sheet {
  width: number;
  height: number;
  letter: number;
  measure: (text: string) => number;
}

/** Letter size for the back row: a share of the picture's height, limited by its width. */
export function letterOf(width: number, height: number): number {
  return Math.round(Math.min(Math.max(height / 36, 13), 32, Math.max(width / 30, 13)));
}

const crossed = (a: Spot, b: Spot, p: Spot, q: Spot): boolean => {
  const side = (u: Spot, v: Spot, w: Spot): number => (v.x - u.x) * (w.y - u.y) - (v.y - u.y) * (w.x - u.x);
  return side(a, b, p) * side(a, b, q) < 0 && side(p, q, a) * side(p, q, b) < 0;
};
const cornersOf = ({ left, top, right, bottom }: Box, wider = 0): Spot[] => [
  { x: left - wider, y: top - wider },
  { x: right + wider, y: top - wider },
  { x: right + wider, y: bottom + wider },
  { x: left - wider, y: bottom + wider },
];
/** How near a spot is to a line. */
function gapOf({ x, y }: Spot, [a, b]: Line): number {
  const [dx, dy] = [b.x - a.x, b.y - a.y];
  const share = ((x - a.x) * dx + (y - a.y) * dy) / (dx * dx + dy * dy || 1);
  const nearest = Math.min(Math.max(share, 0), 1);
  return Math.hypot(x - a.x - nearest * dx, y - a.y - nearest * dy);
}
/** Whether two lines cross or come as near as this: then it is not seen which leads where. */
const meet = (a: Line, b: Line, gap: number): boolean =>
  crossed(...a, ...b) || a.some((one) => gapOf(one, b) < gap) || b.some((one) => gapOf(one, a) < gap);
export const overlap = (a: Box, b: Box): boolean => a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom;

function within(outline: readonly Spot[], { x, y }: Spot): boolean {
  let inside = false;
  outline.forEach((a, i) => {
    const b = outline[(i + 1) % outline.length] as Spot;
    if (a.y > y !== b.y > y && x < ((b.x - a.x) * (y - a.y)) / (b.y - a.y) + a.x) inside = !inside;
  });
  return inside;
}

/** Whether a line enters an outline. */
const enters = ([a, b]: Line, outline: readonly Spot[]): boolean =>
  within(outline, a) || within(outline, b) || outline.some((p, i) => crossed(a, b, p, outline[(i + 1) % outline.length] as Spot));

export function covers(box: Box, outline: readonly Spot[]): boolean {
  const corners = cornersOf(box);
  const edges = corners.map((a, i) => [a, corners[(i + 1) % 4] as Spot] as const);
  return edges.some((edge) => enters(edge, outline)) || outline.some((one) => within(corners, one));
}

/** Parts whose lines may run over the card: they are there. */
const ON_CARD: readonly (Part | null)[] = ["card", "lubber-line"];

/** In letters: how far lines keep from other names and from each other. */
const CLEAR = 0.3;
/** No line is longer than this share of the picture's width: it would cut the picture in two. */
const LONGEST = 0.3;

/** Whether a label can stand where it is proposed. */
function isFree(one: Placed, placed: readonly Placed[], faces: readonly Spot[][], sheet: Sheet): boolean {
  const { box, line } = one;
  if (box.left < 2 || box.top < 2 || box.right > sheet.width - 2 || box.bottom > sheet.height - 2) return false;
  if (faces.some((face) => covers(box, face) || (line && !ON_CARD.includes(one.part) && enters(line, face)))) return false;
  if (line && Math.hypot(line[0].x - line[1].x, line[0].y - line[1].y) > LONGEST * sheet.width) return false;
  const clear = CLEAR * sheet.letter;
  // Its own part is not under it.
  if (line && enters(line, cornersOf(box))) return false;
  return placed.every((other) => {
    if (overlap(box, other.box)) return false;
    if (other.line && enters(other.line, cornersOf(box, clear))) return false;
    if (line && enters(line, cornersOf(other.box, clear))) return false;
    return !(line && other.line && meet(line, other.line, clear));
  });
}

type Propose = (x: number, y: number, align: Placed["align"]) => Placed;

/** A label at a place: its box, and the line that leaves it on the side of its part. */
function proposal({ text, part, colour, stands }: Label, to: Spot, sheet: Sheet): Propose {
  const wide = sheet.measure(text);
  const { letter } = sheet;
  return (x, y, align) => {
    const left = align === "left" ? x : align === "right" ? x - wide : x - wide / 2;
    const box = { left: left - letter * 0.2, right: left + wide + letter * 0.2, top: y - letter * 0.62, bottom: y + letter * 0.62 };
    const made: Placed = { text, part, colour, x, y, align, box };
    if (stands === "free") return made;
    const gap = letter * 0.15;
    const from =
      align === "center"
        ? { x: Math.min(Math.max(to.x, left), left + wide), y: to.y < y ? box.top - gap : box.bottom + gap }
        : { x: align === "right" ? box.right + gap : box.left - gap, y };
    return { ...made, line: [from, to] };
  };
}

/** Possible places close to a point, nearer ones first. */
function* near(propose: Propose, { x, y }: Spot, sheet: Sheet, least: number): Generator<Placed> {
  const { letter } = sheet;
  for (const away of [least, 2.2, 3.4, 4.8, 6.5]) {
    if (away < least) continue;
    const step = away * letter;
    yield propose(x + step, y - step * 0.4, "left");
    yield propose(x - step, y - step * 0.4, "right");
    yield propose(x, y - step, "center");
    yield propose(x, y + step, "center");
    yield propose(x + step, y + step * 0.5, "left");
    yield propose(x - step, y + step * 0.5, "right");
  }
}

/** Possible places in the columns left and right of the instrument, or above and below it in a tall picture. */
function* beside(propose: Propose, to: Spot, reach: Box, sheet: Sheet): Generator<Placed> {
  const { letter, width, height } = sheet;
  const step = letter * 1.45;
  const tall = width < 0.9 * height;
  const lines = Math.floor((tall ? 0.5 : 1) * (height / step)) - 1;
  const middle = (reach.left + reach.right) / 2;
  if (tall) {
    for (let i = 0; i <= lines; i++) yield* row(propose, to, reach, sheet, i * step, step);
    return;
  }
  const first = to.x < middle ? "left" : "right";
  const other = first === "left" ? "right" : "left";
  // The further column is better than a line that runs steeply down the nearer one.
  for (const [from, until] of [[0, 9], [10, 2 * lines]] as const) {
    for (const side of [first, other]) {
      const wide = propose(0, 0, "left").box.right + letter * 0.4;
      for (let i = from; i <= until; i++) {
        const y = to.y + ((i + 1) >> 1) * (i % 2 ? -1 : 1) * step * 0.5;
        if (side === "left") yield propose(Math.max(reach.left - letter, wide), y, "right");
        else yield propose(Math.min(reach.right + letter, width - wide), y, "left");
      }
    }
  }
}

/** Possible places in the rows above and below the instrument, so far away from it. */
function* row(propose: Propose, to: Spot, reach: Box, { letter, width, height }: Sheet, away: number, step: number): Generator<Placed> {
  const up = to.y < (reach.top + reach.bottom) / 2;
  const half = propose(0, 0, "center").box.right + 3;
  for (const above of [up, !up]) {
    const y = above ? Math.max(reach.top - letter, 3 * step) - away : Math.min(reach.bottom + letter, height - 3 * step) + away;
    for (const share of [0, -0.5, 0.5, -1, 1, -1.8, 1.8]) {
      yield propose(Math.min(Math.max(to.x + share * half, half), width - half), y, "center");
    }
  }
}

/** In the columns first; where those are too far away or full, close to the part. */
function firstFree(label: Label, spots: Spot[], reach: Box, sheet: Sheet, free: (one: Placed) => boolean): Placed | null {
  const found = (at: (propose: Propose, to: Spot) => Generator<Placed>): Placed | null => {
    for (const to of spots) for (const one of at(proposal(label, to, sheet), to)) if (free(one)) return one;
    return null;
  };
  const column = label.stands === "beside" ? found((propose, to) => beside(propose, to, reach, sheet)) : null;
  return column ?? found((propose, to) => near(propose, to, sheet, label.stands === "free" ? 0 : 1.4));
}

/** A point of the world in the picture. */
function onPicture(at: Vector3, camera: PerspectiveCamera, { width, height }: Sheet): Spot {
  const seen = at.clone().project(camera);
  return { x: ((seen.x + 1) / 2) * width, y: ((1 - seen.y) / 2) * height };
}

/** The outline of points in the picture: their convex hull. */
export function outlineOnPicture(points: readonly Vector3[], camera: PerspectiveCamera, sheet: Sheet): Spot[] {
  const spots = points.map((at) => onPicture(at, camera, sheet)).sort((a, b) => a.x - b.x || a.y - b.y);
  const half = (along: readonly Spot[]): Spot[] => {
    const made: Spot[] = [];
    for (const to of along) {
      for (let [a, b] = made.slice(-2); a && b && (b.x - a.x) * (to.y - a.y) <= (b.y - a.y) * (to.x - a.x); [a, b] = made.slice(-2)) made.pop();
      made.push(to);
    }
    return made.slice(0, -1);
  };
  return [...half(spots), ...half(spots.reverse())];
}

/** What labels keep clear of: dials and the knob always, the body of the instrument where there is room beside it. */
export interface Kept {
  faces: readonly (readonly Vector3[])[];
  knob: readonly Spot[];
  body: readonly Spot[];
}

/** Places all that find room; `taken` are boxes of other writing. */
export function layOut(
  labels: readonly Label[],
  corners: readonly Vector3[],
  { faces, knob, body }: Kept,
  taken: readonly Box[],
  camera: PerspectiveCamera,
  sheet: Sheet,
): Placed[] {
  const on = (at: Vector3): Spot => onPicture(at, camera, sheet);
  const spots = corners.map(on);
  const reach: Box = {
    left: Math.min(...spots.map(({ x }) => x)),
    right: Math.max(...spots.map(({ x }) => x)),
    top: Math.min(...spots.map(({ y }) => y)),
    bottom: Math.max(...spots.map(({ y }) => y)),
  };
  const outlines = faces.map((face) => face.map(on));
  const reserved = taken.map((box) => ({ text: "", part: null, colour: "", x: 0, y: 0, align: "left" as const, box }));
  const placed: Placed[] = [...reserved];
  const linesOf = ({ clearOf }: Label): Line[] => {
    const seen = clearOf?.map(on) ?? [];
    return seen.slice(1).map((to, i) => [seen[i] as Spot, to] as const);
  };
  const arrows = labels.flatMap(linesOf);
  for (const label of labels) {
    const texts = [label.text, ...(label.short ? [label.short] : [])];
    // Over the instrument, or over another's arrow, only where there is no other place.
    const keeps = [{ clear: arrows, beside: label.stands !== "free" }, { clear: arrows, beside: false }, { clear: linesOf(label), beside: false }];
    const tries = keeps.flatMap((kept) => texts.map((text) => ({ ...kept, text })));
    for (const { clear, beside, text } of tries) {
      const free = (one: Placed): boolean =>
        !covers(one.box, knob) && !(beside && covers(one.box, body)) && isFree(one, placed, outlines, sheet) && clear.every((line) => !enters(line, cornersOf(one.box)));
      const found = firstFree({ ...label, text }, label.at.map(on), reach, sheet, free);
      if (found) placed.push(found);
      if (found) break;
    }
  }
  return placed.slice(reserved.length);
}
