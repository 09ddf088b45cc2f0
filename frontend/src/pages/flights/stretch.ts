// The period shown by all charts, zoomed about the moment.

export interface Stretch {
  fromS: number;
  toS: number;
}

const SHORTEST_S = 60;

export function whole(endS: number): Stretch {
  return { fromS: 0, toS: endS };
}

export function scaled(stretch: Stretch, aboutS: number, factor: number, endS: number): Stretch {
  const length = Math.min(endS, Math.max(Math.min(SHORTEST_S, endS), (stretch.toS - stretch.fromS) * factor));
  const share = (aboutS - stretch.fromS) / (stretch.toS - stretch.fromS);
  const fromS = Math.max(0, Math.min(endS - length, aboutS - share * length));
  return { fromS, toS: fromS + length };
}

/** The same length, moved so that the moment is inside. */
export function holding(stretch: Stretch, timeS: number, endS: number): Stretch {
  const length = stretch.toS - stretch.fromS;
  if (timeS >= stretch.fromS && timeS <= stretch.toS) return stretch;
  const fromS = Math.max(0, Math.min(endS - length, timeS - length / 2));
  return { fromS, toS: fromS + length };
}
