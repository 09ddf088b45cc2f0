// Why the card reads what it reads: the ledger's largest cause as a sentence.

import { partOf } from "../../instrument/causes.ts";
import type { Cause, Frame } from "../../instrument/messages.ts";
import { signed } from "../../shared/numbers.ts";

// Below this a class cannot see on the card that it is wrong.
const SEEN_DEG = 0.5;
/** Causes that grow with time, untouched by anybody. */
const DRIFTS = new Set(["earth_deg", "travel_deg", "friction_deg", "balance_deg"]);

export interface Why {
  /** What the card shows. */
  shows: string;
  /** What happened. */
  sentence: string;
  /** The largest cause, with its share. */
  cause: string;
}

/** The largest part of the error that is not cancelled by the others: of the error's own sign. */
export function largest(frame: Frame, causes: readonly Cause[]): Cause | null {
  const side = Math.sign(frame.shown.error_deg);
  const of = (cause: Cause): number => side * partOf(frame.ledger, cause);
  return causes.reduce<Cause | null>((best, cause) => (of(cause) > (best ? of(best) : 0) ? cause : best), null);
}

export function why(frame: Frame, causes: readonly Cause[]): Why | null {
  const errorDeg = frame.shown.error_deg;
  const cause = Math.abs(errorDeg) < SEEN_DEG ? null : largest(frame, causes);
  if (!cause) return null;
  const side = errorDeg < 0 ? "low" : "high";
  const verb = DRIFTS.has(cause.key) ? "has drifted" : "reads";
  return {
    shows: `The card ${verb} ${Math.abs(errorDeg).toFixed(1)}° ${side}.`,
    sentence: cause.why,
    cause: `Largest cause: ${cause.name}, ${signed(partOf(frame.ledger, cause))}°.`,
  };
}
