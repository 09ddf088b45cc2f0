// Whole turns taken out of a ledger: a card that went right round reads as before, and its error is no larger.

import type { Frame, Ledger } from "./messages.ts";

const WHOLE_DEG = 360;

/** The same ledger with bank and pitch's part within half a turn of zero, and the total less as much. */
export function lessWholeTurns(ledger: Ledger): Ledger {
  const turns = WHOLE_DEG * Math.round((ledger["geometry_deg"] ?? 0) / WHOLE_DEG);
  if (turns === 0) return ledger;
  const part = (key: string): number => (ledger[key] ?? 0) - turns;
  return { ...ledger, geometry_deg: part("geometry_deg"), total_deg: part("total_deg") };
}

export function received(frame: Frame): Frame {
  return { ...frame, ledger: lessWholeTurns(frame.ledger) };
}
