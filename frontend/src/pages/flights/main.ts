// Connects form, server and drawings; the address always matches what is shown.

import "./style.css";
import * as ask from "./ask.ts";
import { Cursor } from "./cursor.ts";
import { fly, give, Refused } from "./door.ts";
import { Drawing } from "./drawing.ts";
import * as file from "./file.ts";
import type { Reply } from "./reply.ts";
import { holding, scaled, type Stretch, whole } from "./stretch.ts";
import * as theme from "../../shared/theme.ts";
import * as timebar from "./timebar.ts";

const cursor = new Cursor();
const drawing = new Drawing(cursor);
const findings = document.getElementById("findings") as HTMLElement;
const refused = document.getElementById("refused") as HTMLElement;
const busy = document.getElementById("busy") as HTMLElement;
let shown: Reply | null = null;
let stretch: Stretch = { fromS: 0, toS: 1 };
let going: AbortController | null = null;
let addressTimer = 0;

/** The address of what is shown, with the moment and period where they differ from the start. */
function address(reply: Reply): string {
  const query = new URLSearchParams(reply.address);
  const extra: string[] = [];
  if (cursor.row > 0) extra.push(`at_s=${Math.round(cursor.timeS)}`);
  if (stretch.fromS > 0 || stretch.toS < cursor.endS) {
    extra.push(`from_s=${Math.round(stretch.fromS)}`, `to_s=${Math.round(stretch.toS)}`);
  }
  return [reply.address, ...extra].join(query.size ? "&" : "");
}

function keepAddress(): void {
  clearTimeout(addressTimer);
  addressTimer = window.setTimeout(() => shown && history.replaceState(null, "", address(shown)), 300);
}

function put(reply: Reply, timeS: number): void {
  shown = reply;
  for (const [name, html] of Object.entries(reply.parts)) {
    // Rendered by our own templates on the server, which escape what people typed.
    (document.getElementById(name) as HTMLElement).innerHTML = html;
  }
  document.title = `${reply.title} – Lubberline`;
  findings.classList.remove("empty");
  drawing.put(reply, stretch, timeS);
  cursor.watch(followMoment);
}

function followMoment(): void {
  keepAddress();
  const moved = holding(stretch, cursor.timeS, cursor.endS);
  if (moved !== stretch) {
    stretch = moved;
    drawing.stretch(stretch);
  }
}

/** Shows a progress message if it takes long enough to notice. */
function soon(words: string): number {
  return window.setTimeout(() => (busy.textContent = words), 400);
}

async function flyAsked(first = false): Promise<void> {
  going?.abort();
  const mine = new AbortController();
  going = mine;
  const slow = soon("Flying it…");
  try {
    const reply = await fly(ask.asked(), mine.signal);
    const endS = reply.time_s[reply.time_s.length - 1] ?? 1;
    const query = new URLSearchParams(location.search);
    const number = (name: string, usual: number): number => Number(query.get(name) ?? usual) || usual;
    if (first) {
      stretch = { fromS: Math.max(0, number("from_s", 0)), toS: Math.min(endS, number("to_s", endS)) };
      if (stretch.toS <= stretch.fromS) stretch = whole(endS);
    } else if (endS !== cursor.endS || reply.asked.flight !== shown?.asked.flight) stretch = whole(endS);
    refused.replaceChildren();
    put(reply, first ? number("at_s", 0) : cursor.timeS);
    if (!first) history.pushState(null, "", address(reply));
    keepAddress();
  } catch (error) {
    if (!mine.signal.aborted) refuse(error);
  } finally {
    clearTimeout(slow);
    if (going === mine) busy.textContent = "";
  }
}

function refuse(error: unknown): void {
  if (!(error instanceof Refused)) throw error;
  const words = document.createElement("p");
  const where = document.createElement("strong");
  where.textContent = error.refusal.where;
  words.append(where, `: ${error.refusal.wrong}. ${error.refusal.right}.`);
  refused.replaceChildren(words);
  refused.scrollIntoView({ block: "nearest" });
}

async function take(given: File): Promise<void> {
  const slow = soon("Reading it…");
  try {
    const { flight, name } = await give(given);
    ask.choose(flight, name);
    await flyAsked();
  } catch (error) {
    refuse(error);
  } finally {
    clearTimeout(slow);
    busy.textContent = "";
  }
}

function zoom(by: timebar.Zoom): void {
  const factors = { nearer: 0.5, wider: 2 };
  stretch = by === "whole" ? whole(cursor.endS) : scaled(stretch, cursor.timeS, factors[by], cursor.endS);
  drawing.stretch(stretch);
  keepAddress();
}

function redraw(): void {
  if (shown) put(shown, cursor.timeS);
}

document.documentElement.dataset["script"] = "on";
let width = innerWidth;
let resizing = 0;
addEventListener("resize", () => {
  clearTimeout(resizing);
  // A phone's address bar changes the height at every scroll; redraw only for another width.
  if (innerWidth !== width) resizing = window.setTimeout(redraw, 120);
  width = innerWidth;
});
addEventListener("popstate", () => location.reload());
theme.listen(redraw);
ask.listen(() => void flyAsked());
file.listen((given) => void take(given));
timebar.listen(cursor, zoom);
void flyAsked(true);
