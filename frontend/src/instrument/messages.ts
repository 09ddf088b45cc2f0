// Messages of the bench's socket, field by field. Units are in the names.

import type { Part, Station } from "../cutaway/index.ts";

export interface Truth {
  heading_deg: number;
  magnetic_deg: number;
  pitch_deg: number;
  bank_deg: number;
  track_deg: number;
  groundspeed_kt: number;
  airspeed_kt: number;
  altitude_ft: number;
  latitude_deg: number;
  longitude_deg: number;
  variation_deg: number;
  dip_deg: number;
  horizontal_nt: number;
  zone: string | null;
  turn_rate_deg_s: number;
  load_g: number;
  slip: number;
}

export interface Shown {
  indicated_deg: number;
  error_deg: number;
  compass_deg: number;
  compass_error_deg: number;
  gauge_inhg: number | null;
  rotor_rpm: number;
  /** Readings of other instruments, by the name in their dial's description. */
  [shows: string]: number | null;
}

export interface Gyro {
  outer_deg: number;
  tilt_deg: number;
  knob_deg: number;
  rotor_turns: number;
  caged: boolean;
  on_stop: boolean;
  regime: "averaged" | "rigid" | "held";
  spin_n: number;
  spin_e: number;
  spin_d: number;
  torque_inner_nm: number;
  torque_outer_nm: number;
  precession_card_deg_h: number;
  precession_tilt_deg_h: number;
  finger_nm: number;
}

export interface Air {
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

export interface Ghost {
  id: string;
  indicated_deg: number;
  compass_deg: number;
  tilt_deg: number;
  [shows: string]: number | string | null;
}

export interface BenchEvent {
  time_s: number;
  words: string;
}

export type Ledger = Record<string, number>;

export interface Beside {
  shown: Shown;
  gyro: Gyro;
  air: Air | null;
  ledger: Ledger;
  since_set_s: number;
  rates: Record<string, number>;
  ghosts: Ghost[];
  faults: Record<string, number>;
}

export interface Frame {
  kind: "frame";
  n: number;
  time_s: number;
  pace: number;
  paused: boolean;
  /** It runs for a given time, and stops by itself. */
  runs: boolean;
  scene: string | null;
  /** Of a tour, from 1. */
  step: number | null;
  truth: Truth;
  shown: Shown;
  gyro: Gyro;
  air: Air | null;
  ledger: Ledger;
  since_set_s: number;
  rates: Record<string, number>;
  ghosts: Ghost[];
  faults: Record<string, number>;
  reference?: "magnetic" | "true";
  on_ground?: boolean;
  /** The scene's caption at this time. */
  caption?: string | null;
  /** A second aircraft's instruments, with their own ledger. */
  second?: Beside;
  viewers: number;
  driver: boolean;
  events: BenchEvent[];
}

export interface Idea {
  id: string;
  /** In two or three words, beside its ghost. */
  name: string;
  statement: string;
  mend: string;
  source: string;
}

export interface FaultKind {
  name: string;
  description: string;
  greatest_size: number;
  default_size: number;
  unit: string;
}

/** A round dial of an instrument without its own drawing. */
export interface DialKind {
  title: string;
  unit: string;
  shows: string;
  greatest: number;
  step: number;
  decimals: number;
  good: readonly [from: number, to: number] | null;
  per: number;
}

/** A piece of a text; one with a part names it. */
export interface Piece {
  text: string;
  part: Part | "";
}

export type DialName = "heading" | "compass" | "suction" | "rotor";

/** A step of a tour. */
export interface Step {
  title: string;
  say: Piece[];
  try: Piece[];
  part: Part | null;
  dial: DialName;
  camera: Station[];
}

export interface Scene {
  id: string;
  title: string;
  aim: string;
  ask?: string;
  watch?: string;
  cautions?: string;
  dial: DialName;
  /** Points of the camera path. */
  camera?: Station[];
  /** Of a tour; none for other scenes. */
  steps: Step[];
}

/** What a frame shows: its scene, and of a tour the step. */
export function shownIn(scenes: readonly Scene[], frame: Frame): { scene: Scene | null; step: Step | null } {
  const scene = scenes.find((one) => one.id === frame.scene) ?? null;
  return { scene, step: scene?.steps[(frame.step ?? 0) - 1] ?? null };
}

export interface Hello {
  kind: "hello";
  role: "driver" | "viewer";
  bench: string;
  version: string;
  ideas: Idea[];
  faults: FaultKind[];
  dials: DialKind[];
  scenes: Scene[];
  history: Ledger[];
}

export interface Notice {
  kind: "notice";
  words: string;
}

export interface Refusal {
  kind: "refused";
  where: string;
  wrong: string;
  right: string;
}

export type FromServer = Hello | Frame | Notice | Refusal;

export interface Command {
  do: string;
  [field: string]: unknown;
}

/** A cause of the ledger from the page: look, name and account. */
export interface Cause {
  key: string;
  name: string;
  fill: string;
  ink: string;
  pattern: string;
  what: string;
  formula: string;
  numbers: string;
  rate: string;
  source: string;
  /** What happened, as a sentence to say. */
  why: string;
}
