// Messages from the server to the pages of a live lesson, field by field.

export type How = "dial" | "number" | "options";

export interface Question {
  key: string;
  how: How;
  html: string;
  /** In the order in which they stand for the whole class. */
  options: string[];
  unit: string;
  figure: string;
  alt: string;
}

export interface Seen {
  title: string;
  step: number;
  steps: number;
  kind: "" | "over" | "say" | "show" | "predict" | "reveal" | "explain" | "quiz";
  heading: string;
  html: string;
  phase: "open" | "closed" | "shown";
  questions: Question[];
  looks_up: boolean;
  /** When the countdown ends; '' without one. */
  countdown_utc: string;
}

export interface Given {
  place: number;
  value: number | null;
}

export interface Told {
  key: string;
  heading: string;
  how: How;
  right: boolean;
  own: string;
  own_value: number | null;
  truth: string;
  truth_value: number | null;
  idea: string;
  why: string;
}

/** An own late answer, and what was decided. */
export interface CameLate {
  key: string;
  where: string;
  words: string;
  state: "waiting" | "taken" | "not taken";
}

export interface StudentView {
  seen: Seen;
  own: {
    name: string;
    /** How many joined before this student. */
    before: number;
    given: Record<string, Given>;
    told: Told[];
    /** Own answers, in words, while the projector plays what happens. */
    expects: string[];
    late: CameLate[];
  };
}

export interface Spread {
  question: Question;
  count: number;
  options: number[];
  values: number[];
  unit: string;
  right_option: number;
  truth: number | null;
  truth_words: string;
  ideas: [statement: string, count: number][];
}

export interface Show {
  scene: string;
  bench: string;
  from_s: number;
  to_s: number;
  pace: number;
}

export interface ClassGhost {
  id: string;
  name: string;
  statement: string;
  count: number;
}

export interface ProjectorView {
  seen: Seen;
  code: string;
  joined: number;
  answered: number;
  /** The step's text, in which parts of the drawing can be pressed. */
  html: string;
  show: Show | null;
  stage: "ready" | "playing" | "done";
  ghosts: ClassGhost[];
  ghosts_from_s: number;
  spreads: Spread[];
}

export interface Act {
  do: string;
  words: string;
}

/** An answer given in time by its device's clock and received after answers were closed. */
export interface LateRow {
  at: number;
  name: string;
  where: string;
  words: string;
  now: string;
  given_utc: string;
  heard_utc: string;
  apart_min: number;
  came_utc: string;
  state: "waiting" | "not taken";
}

export interface InstructorView {
  late: LateRow[];
  projector: ProjectorView;
  notes: string;
  text: string;
  acts: Act[];
  to_come: [kind: string, heading: string, minutes: number][];
  minutes: number;
  minutes_before: number;
  minutes_all: number;
  students: { name: string; answered: number }[];
  spreads: Spread[];
  opened_utc: string;
  /** When the question closes by itself; '' if it does not. */
  closes_utc: string;
  /** Keys of those of the step's questions that the school wrote. */
  own: string[];
}
