// How far each part stands from its place when all are apart, along the axis it is mounted on (mm).
// What turns about the upright axis goes up or down on it; what faces the pilot goes toward him.

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
