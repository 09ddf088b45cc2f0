// The inputs of the drawing: the part of a bench frame that the cutaway reads, the camera, and the view.
// A whole bench frame may be given; fields not named here are ignored.

import parts from "../../../src/lubberline/simulation/live/parts.json";

export interface Attitude {
  heading_deg: number;
  pitch_deg: number;
  bank_deg: number;
}

export interface GyroFrame {
  /** Outer gimbal's angle from the nose, clockwise seen from above. */
  outer_deg: number;
  /** Inner gimbal's tilt, spin end up. */
  tilt_deg: number;
  knob_deg: number;
  /** Fraction of a turn, slowed by the engine so that it can be seen. */
  rotor_turns: number;
  caged: boolean;
  on_stop: boolean;
  /** Torques about the inner gimbal's axis and about the outer gimbal's axis. */
  torque_inner_nm: number;
  torque_outer_nm: number;
  precession_card_deg_h: number;
  precession_tilt_deg_h: number;
  /** A finger on the card, clockwise as the pilot sees the card. */
  finger_nm: number;
}

export interface AirFrame {
  engine_rpm: number;
  manifold_inhg: number;
  instrument_inhg: number;
  filter_inhg: number;
  pump_g_s: number;
  instrument_g_s: number;
  regulator_g_s: number;
  leak_g_s: number;
  jet_mps: number;
}

export interface BenchFrame {
  time_s: number;
  pace: number;
  truth: Attitude;
  shown: { indicated_deg: number; gauge_inhg: number | null; rotor_rpm: number };
  gyro: GyroFrame;
  /** null for an electric drive, which has no air. */
  air: AirFrame | null;
}

/** The instrument at rest: what is drawn until the engine says more. */
export const REST: BenchFrame = {
  time_s: 0,
  pace: 1,
  truth: { heading_deg: 0, pitch_deg: 0, bank_deg: 0 },
  shown: { indicated_deg: 0, gauge_inhg: 0, rotor_rpm: 0 },
  gyro: {
    outer_deg: 0,
    tilt_deg: 0,
    knob_deg: 0,
    rotor_turns: 0,
    caged: false,
    on_stop: false,
    torque_inner_nm: 0,
    torque_outer_nm: 0,
    precession_card_deg_h: 0,
    precession_tilt_deg_h: 0,
    finger_nm: 0,
  },
  air: null,
};

/** The school's own names of parts, which the page carries. */
export function ownNames(): Partial<Record<Part, string>> {
  const carried = document.getElementById("part-words")?.textContent;
  return carried ? (JSON.parse(carried) as Partial<Record<Part, string>>) : {};
}

/** The parts' ids with their names: the one list, which the program's own readers use too. */
export const PARTS: Record<Part, string> = { ...parts, ...ownNames() };
export type Part = keyof typeof parts;

/** Shorter names that captions use; 'stops' is as often what a pilot does. */
const SHORT: readonly [string, Part][] = [["gauge", "suction-gauge"], ["knob", "setting-knob"], ["jet", "jets"], ["housing", "inner-gimbal"], ["bearing", "bearings"]];
const NAMES = [...(Object.entries(PARTS) as [Part, string][]).map(([part, name]) => [name, part] as const), ...SHORT]
  .filter(([, part]) => part !== "stops" && part !== "spin-axis")
  .map(([name, part]) => [name.toLowerCase(), part] as const)
  .sort(([a], [b]) => b.length - a.length);

/** The parts that a caption names, in its order. */
export function partsSaid(text: string): Part[] {
  const said = text.toLowerCase();
  const found: [number, Part][] = [];
  for (const [name, part] of NAMES) {
    for (let at = said.indexOf(name); at >= 0; at = said.indexOf(name, at + 1)) {
      const [before, after] = [said[at - 1] ?? " ", said.slice(at + name.length, at + name.length + 2)];
      if (!/[a-z-]/.test(before) && /^s?(?![a-z])/.test(after)) found.push([at, part]);
    }
  }
  return [...new Set(found.sort(([a], [b]) => a - b).map(([, part]) => part))];
}

/** What the camera looks at: a group of parts, or a single part wherever it is at the moment. */
export type Look = "instrument" | "rotor" | "card" | "air" | "whole" | Part;

export interface CameraState {
  /** 0 from the pilot's seat, 90 from the right, 180 from ahead. */
  orbit_deg: number;
  /** Elevation of the eye, -89 to 89. */
  height_deg: number;
  /** 1 fits the subject into the picture; 0.5 is twice as close. */
  distance: number;
  look: Look;
  /** During a move: what it looked at before, and how much of the move is done, 0 to 1. */
  from?: { look: Look; done: number };
}

export interface ViewState {
  /** From 0, assembled, to 1, taken apart. */
  explode: number;
  hideCase: boolean;
  showAir: boolean;
  showArrows: boolean;
  /** Buckets drawn one by one at the slowed rate; else blurred, as the eye sees them. */
  slowRotor: boolean;
  dark: boolean;
  /** Default: "all" while taken apart with the air hidden, else "few". */
  labels?: "none" | "few" | "all";
  /** What the camera follows: the aircraft's heading (default), its whole attitude, or the Earth. */
  follow?: "heading" | "aircraft" | "earth";
  /** What a finger or the pointer holds; a held knob is drawn pushed in. */
  held?: "card" | "setting-knob" | null;
  /** The part that is spoken of: it glows, and the rest steps back. */
  spoken?: Part | null;
  /** Parts that the text names besides: named in the picture before the others, and not stepping back. */
  mentioned?: readonly Part[];
}
