// Sizes of the drawing in millimetres and degrees: our own design, close to a common panel instrument.
// Axes as in the engine: x forward (away from the pilot), y right, z down; the origin is the rotor's centre.

export const ROTOR = { radius: 28, root: 24, half: 7, buckets: 22 } as const;
export const HOUSING = { inner: 31, outer: 34.6, half: 3.6 } as const;
export const GIMBAL = { inner: 37, outer: 41, half: 3.4 } as const;
/** Two equal mitre gears whose cones meet at the rotor's centre. */
export const BEVEL = { inner: 38.5, outer: 46, hole: 34, height: 1.5, teeth: 48 } as const;
export const CARD = { radius: 47, x: -57, spurTeeth: 72, spurPitch: 48 } as const;
export const KNOB = { pinionTeeth: 19, pinionPitch: 12.67, across: -42.9, down: 42.9, travel: 4 } as const;
export const CASE = { half: 58, corner: 11, front: -60, back: 58 } as const;
export const STOP = { degrees: 85, arm: 9, y: 44.6 } as const;
export const CAGING_TRAVEL = 6;
/** Where the jets meet the rim: from the top, clockwise as the pilot sees it. */
export const JET = { at_deg: -20, apart: 3, from: 7, back: 16 } as const;
export const ROSE = { z: 84, inner: 84, outer: 106 } as const;
