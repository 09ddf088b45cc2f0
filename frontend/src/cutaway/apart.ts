// How far each part stands from its place when all are apart, along the axis it is mounted on (mm).
// What turns about the upright axis goes up or down on it; what faces the pilot goes toward him.

export const APART = {
  front: -128,
  card: -84,
  cardGear: -40,
  knob: -104,
  case: 150,
  air: 150,
  gimbalGear: 36,
  link: -46,
  fork: 20,
  stops: 12,
  nozzles: -20,
  housing: -84,
  rotor: -148,
} as const;
