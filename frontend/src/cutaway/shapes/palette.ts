// Colours of the drawing: calm metals, one colour for each kind of arrow, one scale for air pressure.

import { Color, ColorManagement } from "three";

// Colours go to the screen unconverted, which saves work at every pixel. Set here, before
// the first colour is created.
ColorManagement.enabled = false;

export const METAL = {
  brass: "#c9a24e",
  brassDark: "#a5823a",
  mark: "#fbf7ea",
  steel: "#aeb6bb",
  steelDark: "#7f898f",
  housing: "#86a3b5",
  gimbal: "#c2c7bf",
  gearCard: "#c39a80",
  gearGimbal: "#b3846a",
  card: "#22282d",
  cardInk: "#f6f2e6",
  bezel: "#4a5359",
  shell: "#c3c8c8",
  section: "#c4553d",
  lubber: "#f08a24",
  knob: "#5d676d",
  stop: "#c0685c",
  duct: "#9aa59d",
  nozzle: "#d7dbd6",
  equipment: "#99a3a2",
  equipmentDark: "#6d787b",
  paper: "#d8cfb8",
} as const;

/** How metallic and how polished: brass and steel mirror the studio, aluminium is dull, rubber and paint are not metal. */
const MADE: Partial<Record<keyof typeof METAL, readonly [metal: number, polish: number]>> = {
  brass: [1, 0.72],
  brassDark: [1, 0.5],
  steel: [1, 0.9],
  steelDark: [1, 0.62],
  housing: [0.75, 0.42],
  gimbal: [0.85, 0.38],
  gearCard: [0.95, 0.6],
  gearGimbal: [0.95, 0.6],
  nozzle: [1, 0.8],
  bezel: [0, 0.5],
  knob: [0, 0.18],
  card: [0, 0.1],
  section: [0, 0.15],
  shell: [0.3, 0.2],
  equipment: [0.7, 0.35],
  equipmentDark: [0.7, 0.3],
  paper: [0, 0],
};
const BY_COLOUR = new Map(Object.entries(MADE).map(([name, made]) => [METAL[name as keyof typeof METAL] as string, made]));

export const madeOf = (colour: string): readonly [metal: number, polish: number] => BY_COLOUR.get(colour) ?? [0, 0.25];

export interface Scheme {
  ground: string;
  ink: string;
  soft: string;
  halo: string;
  line: string;
  spin: string;
  torque: string;
  precession: string;
  finger: string;
  stop: string;
}

const LIGHT: Scheme = {
  ground: "#f3f1ea",
  ink: "#1a2026",
  soft: "#525a61",
  halo: "#f3f1ea",
  line: "#2b3236",
  spin: "#0a57a3",
  torque: "#b4370f",
  precession: "#6b2f94",
  finger: "#8c3a00",
  stop: "#a8281a",
};

const DARK: Scheme = {
  ground: "#1f252a",
  ink: "#eceae4",
  soft: "#b3b9be",
  halo: "#1f252a",
  line: "#11161a",
  spin: "#7fbcf5",
  torque: "#ff9a6b",
  precession: "#cf9df2",
  finger: "#ffb877",
  stop: "#ff9a8a",
};

export const schemeOf = (dark: boolean): Scheme => (dark ? DARK : LIGHT);

/** End of the scale; more suction than this has the last colour. */
export const SCALE_END_INHG = 6;
const STOPS = ["#f2cf63", "#7fbf8d", "#3f93b5", "#4f6fc4", "#8a55bd"].map((one) => new Color(one));

/** Colour of air at a suction: from light sand in the cabin to violet at the pump. */
export function pressureColour(below_inhg: number, into = new Color()): Color {
  const place = Math.min(Math.max(below_inhg / SCALE_END_INHG, 0), 1) * (STOPS.length - 1);
  const low = Math.min(Math.floor(place), STOPS.length - 2);
  return into.lerpColors(STOPS[low] as Color, STOPS[low + 1] as Color, place - low);
}
