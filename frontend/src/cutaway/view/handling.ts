// Input on the cutaway: pointer and keys become camera changes, a finger's torque on the card, turns of
// the knob. The caller does the drawing.

import type { CameraState, Part } from "../frame.ts";
import { HOME, orbited, zoomed } from "./steering.ts";

export interface Hands {
  camera: () => CameraState;
  moved: (camera: CameraState) => void;
  pick: (x: number, y: number) => Part | null;
  /** The part whose name is written at a point. */
  named?: (x: number, y: number) => Part | null;
  /** Whether the card and the knob can be held now. */
  drives: () => boolean;
  /** A press without a drag, on a part or beside all of them. */
  pressed?: (part: Part | null) => void;
  /** The card's centre in the picture and its radius there, for a finger's lever arm. */
  card: () => { x: number; radius: number };
  /** Torque of the finger on the card, clockwise as the pilot sees it; 0 releases it. */
  finger: (torque_nm: number) => void;
  knob: (by_deg: number) => void;
  held: (part: "card" | "setting-knob" | null) => void;
}

const MOST_TORQUE_NM = 0.002;
const KEY_TORQUE_NM = 0.001;
const DEG_A_POINT = 0.35;
const KNOB_DEG_A_POINT = 0.5;
const KEY_ORBIT_DEG = 5;
/** A press that moves less than this is no drag. */
const STILL_POINTS = 6;
/** A press of the card or the knob that is shorter than this means the part, and holds it for no longer. */
const BRIEF_MS = 250;
/** What a press on a part holds; the lubber line is on the window over the card. */
const HOLDS: Partial<Record<Part, "card" | "setting-knob">> = {
  card: "card",
  "lubber-line": "card",
  "setting-knob": "setting-knob",
};

interface Touch {
  x: number;
  y: number;
}

const KEYS: Record<string, (camera: CameraState) => CameraState> = {
  ArrowLeft: (camera) => orbited(camera, -KEY_ORBIT_DEG, 0),
  ArrowRight: (camera) => orbited(camera, KEY_ORBIT_DEG, 0),
  ArrowUp: (camera) => orbited(camera, 0, KEY_ORBIT_DEG),
  ArrowDown: (camera) => orbited(camera, 0, -KEY_ORBIT_DEG),
  "+": (camera) => zoomed(camera, 0.9),
  "=": (camera) => zoomed(camera, 0.9),
  "-": (camera) => zoomed(camera, 1 / 0.9),
  Home: (camera) => ({ ...HOME, look: camera.look }),
};
/** Works like a finger while held: j presses the card's left side, l its right side. */
const FINGERS: Record<string, number> = { j: -KEY_TORQUE_NM, l: KEY_TORQUE_NM };
const KNOB_TURNS: Record<string, number> = { ",": -1, ".": 1 };

/** Listens on a focusable canvas; returns the function that stops it. */
export function handle(canvas: HTMLCanvasElement, hands: Hands): () => void {
  const touches = new Map<number, Touch>();
  let started: (Touch & { ms: number }) | null = null;
  let holding: "card" | "setting-knob" | null = null;
  const stop = new AbortController();
  const on = <K extends keyof HTMLElementEventMap>(kind: K, act: (event: HTMLElementEventMap[K]) => void): void =>
    canvas.addEventListener(kind, act, { signal: stop.signal, passive: false });
  const where = (event: MouseEvent): Touch => {
    const box = canvas.getBoundingClientRect();
    return { x: event.clientX - box.left, y: event.clientY - box.top };
  };
  const press = (x: number): void => {
    const card = hands.card();
    const least = card.radius < 0 ? Math.min(card.radius, -1) : Math.max(card.radius, 1);
    const lever = Math.min(Math.max((x - card.x) / least, -1), 1);
    hands.finger(MOST_TORQUE_NM * lever);
  };
  const letGo = (): void => {
    if (holding === "card") hands.finger(0);
    if (holding) hands.held(null);
    holding = null;
  };

  on("pointerdown", (event) => {
    canvas.setPointerCapture(event.pointerId);
    const touch = where(event);
    touches.set(event.pointerId, touch);
    if (touches.size > 1) {
      started = null;
      letGo();
      return;
    }
    started = { ...touch, ms: performance.now() };
    const name = hands.named?.(touch.x, touch.y);
    const part = hands.drives() && !name ? HOLDS[hands.pick(touch.x, touch.y) ?? "case"] : undefined;
    if (!part) return;
    holding = part;
    hands.held(part);
    if (part === "card") press(touch.x);
  });
  on("pointermove", (event) => {
    const before = touches.get(event.pointerId);
    if (!before) return;
    const now = where(event);
    const others = [...touches].filter(([id]) => id !== event.pointerId).map(([, touch]) => touch);
    touches.set(event.pointerId, now);
    const other = others[0];
    if (other) {
      const apart = (touch: Touch): number => Math.hypot(touch.x - other.x, touch.y - other.y);
      hands.moved(zoomed(hands.camera(), apart(before) / Math.max(apart(now), 1)));
    } else if (holding === "card") {
      press(now.x);
    } else if (holding === "setting-knob") {
      hands.knob((now.x - before.x - (now.y - before.y)) * KNOB_DEG_A_POINT);
    } else {
      hands.moved(orbited(hands.camera(), (before.x - now.x) * DEG_A_POINT, (now.y - before.y) * DEG_A_POINT));
    }
  });
  for (const kind of ["pointerup", "pointercancel", "lostpointercapture"] as const) {
    on(kind, (event) => {
      const touch = touches.get(event.pointerId);
      touches.delete(event.pointerId);
      const still = touch && started && Math.hypot(touch.x - started.x, touch.y - started.y) < STILL_POINTS;
      const meant = !holding || performance.now() - (started?.ms ?? 0) < BRIEF_MS;
      if (kind === "pointerup" && still && meant && !touches.size) {
        hands.pressed?.(hands.named?.(touch.x, touch.y) ?? hands.pick(touch.x, touch.y));
      }
      letGo();
    });
  }
  on("wheel", (event) => {
    event.preventDefault();
    hands.moved(zoomed(hands.camera(), Math.exp(event.deltaY * 0.0012)));
  });
  on("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const turn = KEYS[event.key];
    const torque = FINGERS[event.key];
    const knob = KNOB_TURNS[event.key];
    if (turn) hands.moved(turn(hands.camera()));
    if (torque !== undefined && !event.repeat) {
      holding = "card";
      hands.held("card");
      hands.finger(torque);
    }
    if (knob !== undefined) hands.knob(knob);
    if (turn || torque !== undefined || knob !== undefined) event.preventDefault();
  });
  on("keyup", (event) => {
    if (FINGERS[event.key] !== undefined) letGo();
  });
  on("blur", letGo);
  canvas.style.touchAction = "none";
  return () => {
    letGo();
    stop.abort();
  };
}
