// Made-up frames that show the drawing at work; true in geometry (the axis stays), not flown by the engine.

import type { BenchFrame } from "../src/cutaway/index.ts";

const DEG = Math.PI / 180;
const STOP_DEG = 85;

export interface Flown {
  heading_deg: number;
  pitch_deg: number;
  bank_deg: number;
  /** Azimuth of the spin axis in the level frame, and its elevation. */
  axis_deg: number;
  lift_deg: number;
  set_deg: number;
}

/** Gimbal angles of an axis in an attitude: the axis turned into the aircraft's axes. */
export function gimbalsOf(flown: Flown): { outer_deg: number; tilt_deg: number } {
  const { sin, cos } = Math;
  const [h, p, b] = [flown.heading_deg * DEG, flown.pitch_deg * DEG, flown.bank_deg * DEG];
  const [a, e] = [flown.axis_deg * DEG, flown.lift_deg * DEG];
  const [n, east, d] = [cos(a) * cos(e), sin(a) * cos(e), -sin(e)];
  const ahead = cos(h) * n + sin(h) * east;
  const aside = -sin(h) * n + cos(h) * east;
  const x = cos(p) * ahead - sin(p) * d;
  const z1 = sin(p) * ahead + cos(p) * d;
  const y = cos(b) * aside + sin(b) * z1;
  const z = -sin(b) * aside + cos(b) * z1;
  return { outer_deg: Math.atan2(y, x) / DEG, tilt_deg: Math.asin(-z) / DEG };
}

export const LEVEL: Flown = { heading_deg: 0, pitch_deg: 0, bank_deg: 0, axis_deg: 0, lift_deg: 0, set_deg: 0 };

export function frameOf(flown: Partial<Flown>, time_s: number, rpm = 12_000): BenchFrame {
  const whole = { ...LEVEL, ...flown };
  const { outer_deg, tilt_deg } = gimbalsOf(whole);
  const share = rpm / 12_000;
  const indicated_deg = (((whole.set_deg - outer_deg) % 360) + 360) % 360;
  return {
    time_s,
    pace: 1,
    truth: { heading_deg: whole.heading_deg, pitch_deg: whole.pitch_deg, bank_deg: whole.bank_deg },
    shown: { indicated_deg, gauge_inhg: 5 * share, rotor_rpm: rpm },
    gyro: {
      outer_deg,
      tilt_deg,
      knob_deg: whole.set_deg,
      rotor_turns: (0.4 * time_s * share) % 1,
      caged: false,
      on_stop: Math.abs(tilt_deg) >= STOP_DEG - 0.5,
      torque_inner_nm: 0,
      torque_outer_nm: 0,
      precession_card_deg_h: 0,
      precession_tilt_deg_h: 0,
      finger_nm: 0,
    },
    air: {
      engine_rpm: 2400 * share,
      manifold_inhg: 5.1 * share,
      instrument_inhg: 4.7 * share,
      filter_inhg: 0.4 * share,
      pump_g_s: 2.6 * share,
      instrument_g_s: 1.9 * share,
      regulator_g_s: 0.7 * share,
      leak_g_s: 0,
      jet_mps: 150 * share,
    },
  };
}

/** A finger's torque about the vertical gimbal, and what it does at full speed. */
export function pressed(frame: BenchFrame, torque_nm: number): BenchFrame {
  const momentum_nms = 0.0724;
  const rate_deg_h = (torque_nm / momentum_nms / DEG) * 3600;
  const gyro = { ...frame.gyro, finger_nm: torque_nm, torque_outer_nm: torque_nm, precession_tilt_deg_h: -rate_deg_h };
  return { ...frame, gyro };
}

export function withGyro(frame: BenchFrame, change: Partial<BenchFrame["gyro"]>): BenchFrame {
  return { ...frame, gyro: { ...frame.gyro, ...change } };
}

/** A moment of each demonstration; time 0 to 10 s. */
export const SHOWS: Record<string, (time_s: number) => BenchFrame> = {
  level: (t) => frameOf({ axis_deg: 30 }, t),
  turn: (t) => frameOf({ heading_deg: 30 * t, bank_deg: 18, axis_deg: 30 }, t),
  bank: (t) => frameOf({ heading_deg: 40, bank_deg: 45, axis_deg: 0 }, t),
  climb: (t) => frameOf({ heading_deg: 20, pitch_deg: 20, axis_deg: 0 }, t),
  tumble: (t) => frameOf({ heading_deg: 4, pitch_deg: 81, bank_deg: 0, axis_deg: 4, lift_deg: -4 }, t),
  down: (t) => frameOf({ axis_deg: 60, lift_deg: 30 }, t, Math.max(0, 1200 - 120 * t)),
  finger: (t) => pressed(frameOf({ axis_deg: 25, lift_deg: -1.5 * t }, t), 0.001),
  caged: (t) => withGyro(frameOf({ axis_deg: 50, set_deg: 50 }, t), { caged: true }),
};
