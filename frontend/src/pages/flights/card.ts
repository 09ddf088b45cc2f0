// The heading indicator at the moment of the strip: the card, and the needles of wrong ideas.

import { render, svg } from "lit-html";
import { headingDial } from "../../instrument/dials/heading.ts";
import { pageLook } from "../../instrument/look.ts";
import type { Reply } from "./reply.ts";

/** Draws the card at a row of a flight; where it reads nothing, none. */
export function card(reply: Reply): (row: number) => void {
  const drawing = document.getElementById("card") as unknown as HTMLElement;
  const ghost = getComputedStyle(document.documentElement).getPropertyValue("--ghost").trim();
  const face = { look: { ...pageLook(), ghost }, letters: new Map<string, string>(), numbers: false };
  return (row) => {
    const { trace } = reply;
    const indicated_deg = trace.indicated_heading_deg[row];
    const known = indicated_deg !== null && indicated_deg !== undefined;
    const ghosts = reply.believed.map((idea) => ({ id: idea.id, indicated_deg: idea.indicated_heading_deg[row] ?? 0 }));
    const shown = { indicated_deg: indicated_deg ?? 0, error_deg: trace.heading_error_deg[row] ?? 0 };
    const gyro = { caged: false, on_stop: Boolean(trace.on_stop[row]) };
    render(known ? headingDial({ shown, gyro, ghosts }, face) : svg``, drawing);
  };
}
