// The large buttons: each a short sequence of commands that follows what the engine shows.

import type { Command, Frame } from "../messages.ts";

const QUARTER_S = 900;
const QUARTER_PACE = 60;
const PAST_THE_STOP_DEG = 90;
const NEAR_DEG = 3;
const TURNING_DEG_S = 0.5;

export type Send = (command: Command) => void;

export function isTurning(frame: Frame): boolean {
  return Math.abs(frame.truth.turn_rate_deg_s) > TURNING_DEG_S;
}

export function isUpset(frame: Frame): boolean {
  return Math.abs(frame.truth.pitch_deg) > 35 || Math.abs(frame.truth.bank_deg) > 70;
}

export function isPumpOff(frame: Frame): boolean {
  return (frame.faults["pump"] ?? 0) >= 1;
}

export function turn(frame: Frame, send: Send): void {
  send(isTurning(frame) ? { do: "rate", to_deg_s: 0 } : { do: "rate", to_deg_s: 3 });
}

export function level(send: Send): void {
  send({ do: "roll", to_deg: 0 });
  send({ do: "pitch", to_deg: 0 });
}

/** Pitch brings the inner gimbal to its stop when the spin axis is lengthwise, roll when it is across; else both. */
export function tumble(frame: Frame, send: Send): void {
  if (isUpset(frame)) {
    level(send);
    return;
  }
  const fromNoseDeg = ((((frame.gyro.outer_deg + 90) % 180) + 180) % 180) - 90;
  const sideways = Math.abs(fromNoseDeg) > 90 - NEAR_DEG;
  const lengthwise = Math.abs(fromNoseDeg) < NEAR_DEG;
  if (!lengthwise) send({ do: "roll", to_deg: sideways ? PAST_THE_STOP_DEG : -fromNoseDeg });
  if (!sideways) send({ do: "pitch", to_deg: PAST_THE_STOP_DEG });
}

export function pump(frame: Frame, send: Send): void {
  send({ do: "fault", name: "pump", size: isPumpOff(frame) ? 0 : 1 });
}

/** A quarter of an hour at sixty times the pace, then stopped; or what runs, called off. */
export function quarter(frame: Frame, send: Send): void {
  send(frame.runs ? { do: "pace", factor: 1 } : { do: "run", seconds: QUARTER_S, factor: QUARTER_PACE });
}
