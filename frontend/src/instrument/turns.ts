// Removes whole turns from a ledger: a card that went right round reads as before, with no larger error.

import type { Frame, Ledger } from "./messages.ts";

const WHOLE_DEG = 360;

/** The same ledger with the gimballing error within half a turn of zero, and the total changed by as much. */
export function lessWholeTurns(ledger: Ledger): Ledger {
  const turns = WHOLE_DEG * Math.round((ledger["geometry_deg"] ?? 0) / WHOLE_DEG);
  if (turns === 0) return ledger;
  const part = (key: string): number => (ledger[key] ?? 0) - turns;
  return { ...ledger, geometry_deg: part("geometry_deg"), total_deg: part("total_deg") };
}

export function received(frame: Frame): Frame {
  return { ...frame, ledger: lessWholeTurns(frame.ledger) };
}
