// How far each part moves from its place when taken apart, along the axis it is mounted on (mm).
// Parts that turn about the vertical axis move up or down; parts that face the pilot move towards the pilot.

export const APART = {
  front: -150,
  card: -96,
  cardGear: -36,
  knob: -122,
  case: 150,
  air: 150,
  gimbalGear: 36,
  link: -46,
  fork: 20,
  stops: 12,
  nozzles: -20,
  housing: -78,
  rotor: -142,
} as const;
