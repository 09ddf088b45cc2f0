// SVG elements and the sheet of the route: its size, centre and scale.

import { about, middle, type Point } from "./projection.ts";
import type { Trace } from "../reply.ts";

const SVG = "http://www.w3.org/2000/svg";
const MARGIN_PX = 34;
const LEAST_NM = 2;

export function make(name: string, attributes: Record<string, string | number>, text = ""): SVGElement {
  const element = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, String(value));
  if (text) element.textContent = text;
  return element;
}

export interface Sheet {
  width: number;
  height: number;
  pxPerNm: number;
  middleDeg: [number, number];
  /** The position of each row, null where the trace has none. */
  points: (Point | null)[];
  place: (latitudeDeg: number, longitudeDeg: number) => Point;
}

export function sheet(trace: Trace, width: number, height: number): Sheet {
  const middleDeg = middle(trace.latitude_deg, trace.longitude_deg);
  const projection = about(...middleDeg);
  const raw = trace.latitude_deg.map((latitude, row) => {
    const longitude = trace.longitude_deg[row];
    return latitude === null || longitude === null || longitude === undefined
      ? null
      : projection.toNm(latitude, longitude);
  });
  const known = raw.filter((point): point is Point => point !== null);
  const ends = (values: number[]): [number, number] => [
    values.reduce((a, b) => Math.min(a, b), Infinity),
    values.reduce((a, b) => Math.max(a, b), -Infinity),
  ];
  const [west, east] = ends(known.map((point) => point.x));
  const [north, south] = ends(known.map((point) => point.y));
  const pxPerNm = Math.min(
    (width - 2 * MARGIN_PX) / Math.max(LEAST_NM, east - west),
    (height - 2 * MARGIN_PX) / Math.max(LEAST_NM, south - north),
  );
  const toPaper = (point: Point): Point => ({
    x: width / 2 + (point.x - (west + east) / 2) * pxPerNm,
    y: height / 2 + (point.y - (north + south) / 2) * pxPerNm,
  });
  return {
    width,
    height,
    pxPerNm,
    middleDeg,
    points: raw.map((point) => (point ? toPaper(point) : null)),
    place: (latitudeDeg, longitudeDeg) => toPaper(projection.toNm(latitudeDeg, longitudeDeg)),
  };
}
