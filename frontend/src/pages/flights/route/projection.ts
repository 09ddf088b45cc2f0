// The map projection: azimuthal equidistant about the centre of the route, north up there.

const DEG = Math.PI / 180;
const NM_PER_RAD = 3440.065;

export interface Point {
  x: number;
  y: number;
}

export interface Projection {
  /** Nautical miles to the right of and below the centre. */
  toNm: (latitudeDeg: number, longitudeDeg: number) => Point;
}

export function about(latitude0Deg: number, longitude0Deg: number): Projection {
  const sin0 = Math.sin(latitude0Deg * DEG);
  const cos0 = Math.cos(latitude0Deg * DEG);
  return {
    toNm: (latitudeDeg, longitudeDeg) => {
      const sin = Math.sin(latitudeDeg * DEG);
      const cos = Math.cos(latitudeDeg * DEG);
      const east = (longitudeDeg - longitude0Deg) * DEG;
      const across = cos * Math.sin(east);
      const up = cos0 * sin - sin0 * cos * Math.cos(east);
      const sine = Math.hypot(across, up);
      const angle = Math.atan2(sine, sin0 * sin + cos0 * cos * Math.cos(east));
      const scale = sine < 1e-12 ? NM_PER_RAD : (angle / sine) * NM_PER_RAD;
      return { x: across * scale, y: -up * scale };
    },
  };
}

/** The centre of a route: the mean of its points as vectors, so that poles and date line do not matter. */
export function middle(latitudes: (number | null)[], longitudes: (number | null)[]): [number, number] {
  let x = 0;
  let y = 0;
  let z = 0;
  latitudes.forEach((latitude, row) => {
    const longitude = longitudes[row];
    if (latitude === null || longitude === null || longitude === undefined) return;
    x += Math.cos(latitude * DEG) * Math.cos(longitude * DEG);
    y += Math.cos(latitude * DEG) * Math.sin(longitude * DEG);
    z += Math.sin(latitude * DEG);
  });
  return [Math.atan2(z, Math.hypot(x, y)) / DEG, Math.atan2(y, x) / DEG];
}

/** The largest of 1, 2, 5 times a power of ten that is not above the value. */
export function roundLength(most: number): number {
  const power = 10 ** Math.floor(Math.log10(most));
  return [5, 2, 1].map((times) => times * power).find((length) => length <= most) ?? power;
}

const STEPS_MIN = [1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 900, 1800];

/** A step of the graticule in degrees for about this many lines across a span. */
export function graticuleStep(spanDeg: number, lines: number): number {
  const wanted = (spanDeg * 60) / lines;
  return (STEPS_MIN.find((step) => step >= wanted) ?? 2700) / 60;
}

/** Degrees and minutes with the letter of the hemisphere. */
export function degreesMinutes(valueDeg: number, positive: string, negative: string): string {
  const minutes = Math.round(Math.abs(valueDeg) * 60);
  const letter = minutes === 0 ? "" : ` ${valueDeg < 0 ? negative : positive}`;
  const rest = minutes % 60;
  return `${Math.floor(minutes / 60)}°${rest ? String(rest).padStart(2, "0") + "′" : ""}${letter}`;
}
