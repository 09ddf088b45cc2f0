// The unit in which the school reads suction; the engine computes in inches of mercury.

const HPA_PER_INHG = 33.86389;
// Where the model is measured while the program is built, there is no page.
const inHpa = (): boolean => (document.documentElement as HTMLElement | undefined)?.dataset.suction === "hPa";

export const suctionUnit = (): string => (inHpa() ? "hPa" : "inHg");

/** A suction in the school's unit. */
export const suctionIn = (inhg: number): number => (inHpa() ? inhg * HPA_PER_INHG : inhg);

export const suctionDecimals = (): number => (inHpa() ? 0 : 1);

/** A suction as a number of the school's unit, as 4.9 or 166. */
export const suctionFigure = (inhg: number): string => suctionIn(inhg).toFixed(suctionDecimals());

/** A suction with its unit. */
export const suctionText = (inhg: number): string => `${suctionFigure(inhg)} ${suctionUnit()}`;

/** The figures of a gauge in the school's unit, up to a suction. */
export function suctionFigures(greatestInhg: number, everyInhg: number): { figure: number; inhg: number }[] {
  const step = inHpa() ? 50 * everyInhg : everyInhg;
  const size = inHpa() ? HPA_PER_INHG : 1;
  const count = Math.floor((greatestInhg * size) / step + 1e-9);
  return Array.from({ length: count + 1 }, (_, index) => ({ figure: index * step, inhg: (index * step) / size }));
}
