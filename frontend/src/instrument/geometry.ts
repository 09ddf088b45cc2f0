// Shapes that the dials share. Angles in degrees, clockwise from the top, as on a card.

const RAD = Math.PI / 180;

/** A point on a circle about the origin. */
export function at(radius: number, angleDeg: number): [x: number, y: number] {
  return [radius * Math.sin(angleDeg * RAD), -radius * Math.cos(angleDeg * RAD)];
}

export function fixed(value: number, decimals = 2): string {
  return value.toFixed(decimals);
}

/** Radial strokes from one radius to another at each of the angles, as one path. */
export function strokes(anglesDeg: number[], fromRadius: number, toRadius: number): string {
  return anglesDeg
    .map((angle) => {
      const [x1, y1] = at(fromRadius, angle);
      const [x2, y2] = at(toRadius, angle);
      return `M${fixed(x1)} ${fixed(y1)}L${fixed(x2)} ${fixed(y2)}`;
    })
    .join("");
}

/** An arc about the origin from one angle to another, clockwise when the second is larger. */
export function arc(radius: number, fromDeg: number, toDeg: number): string {
  const [x1, y1] = at(radius, fromDeg);
  const [x2, y2] = at(radius, toDeg);
  const large = Math.abs(toDeg - fromDeg) > 180 ? 1 : 0;
  const sweep = toDeg > fromDeg ? 1 : 0;
  return `M${fixed(x1)} ${fixed(y1)}A${radius} ${radius} 0 ${large} ${sweep} ${fixed(x2)} ${fixed(y2)}`;
}

/** An arrow from the origin of its own frame along an angle: the shaft and the head, as one path. */
export function arrow(fromRadius: number, toRadius: number, angleDeg: number, head = 7): string {
  const [x1, y1] = at(fromRadius, angleDeg);
  const [x2, y2] = at(toRadius, angleDeg);
  const backwards = toRadius < fromRadius ? 0 : 180;
  const wing = (side: number): string => {
    const [dx, dy] = at(head, angleDeg + backwards + side * 28);
    return `M${fixed(x2)} ${fixed(y2)}L${fixed(x2 + dx)} ${fixed(y2 + dy)}`;
  };
  return `M${fixed(x1)} ${fixed(y1)}L${fixed(x2)} ${fixed(y2)}${wing(1)}${wing(-1)}`;
}

/** The head of an arrow at a point, pointing along an angle. */
export function headAt(x: number, y: number, angleDeg: number, head = 7): string {
  const wing = (side: number): string => {
    const [dx, dy] = at(head, angleDeg + 180 + side * 28);
    return `M${fixed(x)} ${fixed(y)}L${fixed(x + dx)} ${fixed(y + dy)}`;
  };
  return wing(1) + wing(-1);
}

export function every(stepDeg: number, endDeg = 360): number[] {
  return Array.from({ length: Math.round(endDeg / stepDeg) }, (_, index) => index * stepDeg);
}

export const cos = (angleDeg: number): number => Math.cos(angleDeg * RAD);
export const sin = (angleDeg: number): number => Math.sin(angleDeg * RAD);
