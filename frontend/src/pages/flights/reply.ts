// The JSON of POST /api/fly, field by field as the server sends it. Units are in the names.

export type Column = (number | null)[];

export interface Asked {
  flight: string;
  aircraft: string;
  set_every_min: number | null;
  set_from: "" | "compass" | "truth";
  true_reference: boolean;
  wind: string;
  faults: string[];
  believe: string[];
  seed: number;
}

export interface Cause {
  key: string;
  name: string;
  fill: string;
  ink: string;
  pattern: string;
  drift_deg_15min: number | null;
  has_part: boolean;
}

export interface FlightEvent {
  time_s: number;
  words: string;
  /** Whether the instrument was set here. */
  sets: boolean;
}

export interface Trace {
  latitude_deg: Column;
  longitude_deg: Column;
  altitude_m: Column;
  groundspeed_kt: Column;
  track_deg: Column;
  true_heading_deg: Column;
  magnetic_heading_deg: Column;
  variation_deg: Column;
  bank_deg: Column;
  indicated_heading_deg: Column;
  heading_error_deg: Column;
  compass_deg: Column;
  compass_error_deg: Column;
  gauge_inhg: Column;
  instrument_suction_inhg: Column;
  rotor_rpm: Column;
  on_stop: Column;
}

export interface Believed {
  id: string;
  statement: string;
  mending: string;
  indicated_heading_deg: Column;
  heading_error_deg: Column;
  total_deg: Column;
}

export type Ledger = Record<string, Column>;

export interface Reply {
  asked: Asked;
  address: string;
  title: string;
  aircraft: string;
  start: string;
  duration_min: number;
  field_model: string;
  sentence: string;
  error_at_end_deg: number;
  lasting: string;
  causes: Cause[];
  compass_causes: Cause[];
  drift_total_deg_15min: number;
  notes: string[];
  warnings: string[];
  cautions: string[];
  events: FlightEvent[];
  time_s: number[];
  trace: Trace;
  ledger: Ledger;
  compass_ledger: Ledger;
  believed: Believed[];
  parts: { head: string; account: string; remarks: string };
}

export interface Refusal {
  error: { where: string; wrong: string; right: string };
}
