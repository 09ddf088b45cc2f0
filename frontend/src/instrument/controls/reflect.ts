// Updates the controls from the bench: pressed, label, enabled.

import type { Frame } from "../messages.ts";
import { isPumpOff, isTurning, isUpset } from "./demonstrations.ts";

function put(id: string, words: string, pressed?: boolean): void {
  const button = document.getElementById(id);
  if (!button) return;
  if (button.textContent !== words) button.textContent = words;
  if (pressed !== undefined) button.setAttribute("aria-pressed", String(pressed));
}

function valueAt(frame: Frame, path: string): unknown {
  let value: unknown = frame;
  for (const name of path.split(".")) value = (value as { [name: string]: unknown } | undefined)?.[name];
  return value;
}

/** `path=value`, or `path=value~tolerance` for numbers. */
function holds(frame: Frame, condition: string): boolean {
  const [path, wanted] = condition.split("=");
  const [value, tolerance] = (wanted ?? "").split("~");
  const found = valueAt(frame, path ?? "");
  return typeof found === "number" ? Math.abs(found - Number(value)) <= Number(tolerance ?? 1e-6) : String(found) === value;
}

export function reflect(frame: Frame): void {
  for (const button of document.querySelectorAll<HTMLElement>("[data-is]")) {
    button.setAttribute("aria-pressed", String(holds(frame, button.dataset["is"] ?? "")));
  }
  put("pause", frame.paused ? "Go" : "Stop");
  put("turn", isTurning(frame) ? "Stop the turn" : "Turn");
  put("tumble", isUpset(frame) ? "Level again" : "Tumble it");
  put("pump", isPumpOff(frame) ? "Start the pump" : "Stop the pump");
  put("quarter", frame.runs ? "Cancel" : "15 minutes");
  put("cage", frame.gyro.caged ? "Uncage" : "Cage", frame.gyro.caged);
}

/** Only the page in control can command the bench; what the page does alone works for everybody. */
export function allow(drives: boolean): void {
  const own = new Set(["keys", "why-cutaway", "why-ledger", "copy-address", "save-scene", "mark", "unmark", "numbers", "say", "full-screen", "blank"]);
  const fields = "button[data-do], form[data-do] button, select[data-do], button[data-page], button[data-hold], button[data-idea], button[data-fault], button[data-scene]";
  for (const control of document.querySelectorAll<HTMLButtonElement>(fields)) {
    const page = control.dataset["page"] ?? "";
    control.disabled = !drives && !own.has(page) && !/^(picture|strip|look|cut|dial)-/.test(page) && page !== "take";
  }
}
