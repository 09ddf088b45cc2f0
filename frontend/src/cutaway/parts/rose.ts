// The ground under the instrument: a compass rose fixed to the Earth, and the soft shadow of the case. Little of the
// picture is drawn for them: strokes as shapes, letters on small sheets, the shadow by colours of its corners.

import {
  BufferGeometry,
  CanvasTexture,
  Float32BufferAttribute,
  Group,
  LinearFilter,
  Mesh,
  MeshBasicMaterial,
  PlaneGeometry,
  RingGeometry,
} from "three";
import type { Scheme } from "../shapes/palette.ts";
import { CASE, ROSE } from "../shapes/sizes.ts";

const LETTER_MM = 26;
const LETTER_POINTS = 128;
const STROKE_MM = 0.9;
const DEG = Math.PI / 180;

/** The four letters on one sheet, white, to be tinted. */
function lettersTexture(): CanvasTexture {
  const canvas = document.createElement("canvas");
  canvas.width = 4 * LETTER_POINTS;
  canvas.height = LETTER_POINTS;
  const pen = canvas.getContext("2d") as CanvasRenderingContext2D;
  pen.fillStyle = "#ffffff";
  pen.textAlign = "center";
  pen.textBaseline = "middle";
  pen.font = `700 ${(22 / LETTER_MM) * LETTER_POINTS}px sans-serif`;
  [..."NESW"].forEach((letter, i) => pen.fillText(letter, (i + 0.5) * LETTER_POINTS, 0.52 * LETTER_POINTS));
  const texture = new CanvasTexture(canvas);
  texture.minFilter = LinearFilter;
  texture.generateMipmaps = false;
  return texture;
}

/** How dark the shadow is at a distance from the case's outline, inside it where that is negative. */
const darkness = (away_mm: number): number => 0.4 / (1 + Math.exp((away_mm + 4) / 8));
const SHADOW_REACH = 100;
const SHADOW_STEPS = 24;

/** A sheet of small squares with the shadow in the opacity of their corners. */
function shadowSheet(): BufferGeometry {
  const sheet = new PlaneGeometry(2 * SHADOW_REACH, 2 * SHADOW_REACH, SHADOW_STEPS, SHADOW_STEPS);
  const places = sheet.getAttribute("position");
  const half = CASE.half - 6;
  const colours = Array.from({ length: places.count }, (_, i) => {
    const [x, y] = [Math.abs(places.getX(i)) - half, Math.abs(places.getY(i)) - half];
    const away = Math.hypot(Math.max(x, 0), Math.max(y, 0)) + Math.min(Math.max(x, y), 0);
    const edge = Math.min(1, Math.max(0, (SHADOW_REACH - Math.max(Math.abs(places.getX(i)), Math.abs(places.getY(i)))) / 12));
    return [0, 0, 0, darkness(away) * edge];
  });
  return sheet.setAttribute("color", new Float32BufferAttribute(colours.flat(), 4));
}

interface Sheet {
  at_deg: number;
  /** Distances from the middle. */
  from: number;
  to: number;
  wide: number;
}

/** Upright oblongs about the middle as one geometry; each shows its share of a texture's width. */
function sheetsOf(sheets: readonly Sheet[]): BufferGeometry {
  const [places, shares]: [number[], number[]] = [[], []];
  sheets.forEach(({ at_deg, from, to, wide }, i) => {
    const [along, across] = [Math.cos(at_deg * DEG), Math.sin(at_deg * DEG)];
    for (const [right, up] of [[0, 0], [1, 0], [1, 1], [0, 0], [1, 1], [0, 1]] as const) {
      const [x, y] = [(right - 0.5) * wide, up ? to : from];
      places.push(x * along + y * across, y * along - x * across, 0);
      shares.push((i + right) / sheets.length, up);
    }
  });
  const made = new BufferGeometry();
  made.setAttribute("position", new Float32BufferAttribute(places, 3));
  return made.setAttribute("uv", new Float32BufferAttribute(shares, 2));
}

export interface Rose {
  group: Group;
  /** Turns with the case's heading. */
  shadow: Group;
  colourBy: (scheme: Scheme) => void;
  dispose: () => void;
}

/** Lies in the level frame: north along x, east along y, seen from above. */
export function makeRose(): Rose {
  const ink = new MeshBasicMaterial();
  const texture = lettersTexture();
  const writing = new MeshBasicMaterial({ map: texture, transparent: true, depthWrite: false });
  const cast = new MeshBasicMaterial({ vertexColors: true, transparent: true, depthWrite: false });
  // Drawn with the picture's up (y) to the north (x), its right (x) to the east (y), and its face up (-z).
  const lie = (of: Group, down: number): Group => {
    of.matrix.set(0, 1, 0, 0, 1, 0, 0, 0, 0, 0, -1, down, 0, 0, 0, 1);
    of.matrixAutoUpdate = false;
    return of;
  };
  const ring = new Mesh(new RingGeometry(ROSE.inner - STROKE_MM / 2, ROSE.inner + STROKE_MM / 2, 120), ink);
  const strokes = Array.from({ length: 36 }, (_, i) => ({ at_deg: 10 * i, from: ROSE.inner - (i % 3 ? 5 : 9), to: ROSE.inner, wide: STROKE_MM }));
  const letters = [0, 90, 180, 270].map((at_deg) => ({ at_deg, from: ROSE.inner + 1, to: ROSE.inner + 1 + LETTER_MM, wide: LETTER_MM }));
  const face = new Group().add(ring, new Mesh(sheetsOf(strokes), ink), new Mesh(sheetsOf(letters), writing));
  const shadow = new Group().add(lie(new Group().add(new Mesh(shadowSheet(), cast)), ROSE.z - 0.2));
  const group = new Group().add(lie(face, ROSE.z), shadow);
  group.traverse((one) => {
    one.raycast = () => undefined;
  });
  return {
    group,
    shadow,
    colourBy: ({ soft }) => {
      ink.color.set(soft);
      writing.color.set(soft);
    },
    dispose: () => {
      for (const one of [ink, writing, cast, texture]) one.dispose();
    },
  };
}
