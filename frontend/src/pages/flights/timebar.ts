// The time slider with its buttons, for touch and keyboard.

import type { Cursor } from "./cursor.ts";
import { sentence, shortly } from "./moment.ts";
import type { Reply } from "./reply.ts";

export type Zoom = "nearer" | "wider" | "whole";

const slider = document.getElementById("time") as HTMLInputElement;
const output = document.getElementById("shortly") as HTMLElement;

export function listen(cursor: Cursor, zoom: (by: Zoom) => void): void {
  slider.addEventListener("input", () => cursor.toTime(Number(slider.value)));
  slider.addEventListener("keydown", (event) => cursor.key(event));
  for (const by of ["nearer", "wider", "whole"] as const) {
    document.getElementById(by)?.addEventListener("click", () => zoom(by));
  }
}

export function follow(reply: Reply, cursor: Cursor): (row: number) => void {
  slider.max = String(reply.time_s[reply.time_s.length - 1] ?? 0);
  return (row) => {
    slider.value = String(reply.time_s[row] ?? 0);
    slider.setAttribute("aria-valuetext", sentence(reply, row));
    output.textContent = (cursor.held ? "held at " : "") + shortly(reply, row);
  };
}
