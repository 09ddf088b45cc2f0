// Parallels and meridians, the scale bar and north.

import { make, type Sheet } from "./paper.ts";
import { degreesMinutes, graticuleStep, type Point, roundLength } from "./projection.ts";

const LINES = 3;
const SAMPLES = 24;

function path(points: Point[]): string {
  return points.map((point, at) => `${at ? "L" : "M"}${point.x.toFixed(1)} ${point.y.toFixed(1)}`).join("");
}

/** Where a line crosses the horizontal or vertical line of the labels, if it does. */
function crossing(points: Point[], along: "x" | "y", at: number): Point | null {
  for (let next = 1; next < points.length; next += 1) {
    const a = points[next - 1];
    const b = points[next];
    if (!a || !b || (a[along] - at) * (b[along] - at) > 0 || a[along] === b[along]) continue;
    const share = (at - a[along]) / (b[along] - a[along]);
    return { x: a.x + share * (b.x - a.x), y: a.y + share * (b.y - a.y) };
  }
  return null;
}

function line(sheet: Sheet, from: [number, number], to: [number, number]): Point[] {
  return Array.from({ length: SAMPLES + 1 }, (_, at) => {
    const share = at / SAMPLES;
    return sheet.place(from[0] + share * (to[0] - from[0]), from[1] + share * (to[1] - from[1]));
  });
}

function multiples(middleDeg: number, halfDeg: number, stepDeg: number): number[] {
  const out: number[] = [];
  for (let at = Math.ceil((middleDeg - halfDeg) / stepDeg); at * stepDeg <= middleDeg + halfDeg; at += 1) {
    out.push(at * stepDeg);
  }
  return out;
}

export function graticule(sheet: Sheet): SVGElement {
  const group = make("g", { class: "graticule" });
  const [latitude, longitude] = sheet.middleDeg;
  const spanNm = Math.max(sheet.width, sheet.height) / sheet.pxPerNm;
  const spanLatitude = spanNm / 60;
  const farthest = Math.min(89.9, Math.abs(latitude) + spanLatitude);
  const spanLongitude = Math.min(360, spanNm / 60 / Math.max(0.002, Math.cos((farthest * Math.PI) / 180)));
  const low = Math.max(-90, latitude - spanLatitude);
  const high = Math.min(90, latitude + spanLatitude);
  for (const parallel of multiples(latitude, spanLatitude, graticuleStep(sheet.height / sheet.pxPerNm / 60, LINES))) {
    if (Math.abs(parallel) > 89.99) continue;
    const points = line(sheet, [parallel, longitude - spanLongitude / 2], [parallel, longitude + spanLongitude / 2]);
    group.append(make("path", { d: path(points) }));
    const at = crossing(points, "x", 6);
    if (at && at.y > 30 && at.y < sheet.height - 40) {
      group.append(make("text", { x: 6, y: at.y - 4 }, degreesMinutes(parallel, "N", "S")));
    }
  }
  const across = sheet.width / sheet.pxPerNm / 60 / Math.max(0.002, Math.cos((latitude * Math.PI) / 180));
  for (const meridian of multiples(longitude, spanLongitude / 2, graticuleStep(Math.min(360, across), LINES))) {
    const points = line(sheet, [low, meridian], [high, meridian]);
    group.append(make("path", { d: path(points) }));
    const at = crossing(points, "y", 14);
    if (at && at.x > 4 && at.x < sheet.width - 90) {
      const wrapped = ((((meridian + 180) % 360) + 360) % 360) - 180;
      group.append(make("text", { x: at.x + 4, y: 14 }, degreesMinutes(wrapped, "E", "W")));
    }
  }
  return group;
}

export function scaleBar(sheet: Sheet): SVGElement {
  const group = make("g", { class: "scale" });
  const lengthNm = roundLength(sheet.width / 3 / sheet.pxPerNm);
  const length = lengthNm * sheet.pxPerNm;
  const y = sheet.height - 12;
  group.append(make("path", { d: `M12 ${y - 5}V${y}H${12 + length}V${y - 5}` }));
  group.append(make("text", { x: 18 + length, y: y + 1 }, `${lengthNm} NM`));
  return group;
}

export function northMark(sheet: Sheet): SVGElement {
  const x = sheet.width - 20;
  const group = make("g", { class: "north" });
  group.append(make("path", { d: `M${x} 44V20M${x - 5} 28L${x} 18L${x + 5} 28` }));
  group.append(make("text", { x, y: 14, "text-anchor": "middle" }, "N"));
  return group;
}
