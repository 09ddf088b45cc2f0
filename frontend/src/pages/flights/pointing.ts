// Mouse, pen and finger on a drawing: moving shows the moment, a click holds it, another releases it.

import type { Cursor } from "./cursor.ts";

/** `rowAt` returns the row under the pointer, null for none. */
export function pointing(on: Element, cursor: Cursor, rowAt: (event: PointerEvent) => number | null): void {
  const move = (event: PointerEvent): void => {
    const row = rowAt(event);
    if (row !== null) cursor.to(row);
  };
  on.addEventListener("pointerdown", (event) => {
    const pointer = event as PointerEvent;
    if (pointer.pointerType !== "touch") cursor.held = !cursor.held;
    move(pointer);
  });
  on.addEventListener("pointermove", (event) => {
    const pointer = event as PointerEvent;
    const dragged = (pointer.buttons & 1) === 1;
    if (dragged || (pointer.pointerType !== "touch" && !cursor.held)) move(pointer);
  });
}
