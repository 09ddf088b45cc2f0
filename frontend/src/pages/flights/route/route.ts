// The route: track, turns, settings, and the present position.

import type { Cursor } from "../cursor.ts";
import { graticule, northMark, scaleBar } from "./graticule.ts";
import { make, type Sheet, sheet } from "./paper.ts";
import { pointing } from "../pointing.ts";
import type { Reply } from "../reply.ts";
import { turns } from "../charts/shades.ts";

const HEIGHT_SHARE = 0.8;
const REACH_PX = 40;

function run(paper: Sheet, from: number, to: number): string {
  let joined = false;
  let out = "";
  for (let row = from; row <= to; row += 1) {
    const point = paper.points[row];
    if (point) out += `${joined ? "L" : "M"}${point.x.toFixed(1)} ${point.y.toFixed(1)}`;
    joined = Boolean(point);
  }
  return out;
}

function named(paper: Sheet, row: number, words: string, shape: "start" | "end" | "set"): SVGElement | null {
  const point = paper.points[row];
  if (!point) return null;
  const group = make("g", { class: shape, transform: `translate(${point.x.toFixed(1)} ${point.y.toFixed(1)})` });
  if (shape === "start") group.append(make("circle", { r: 5 }));
  else if (shape === "end") group.append(make("rect", { x: -5, y: -5, width: 10, height: 10 }));
  else group.append(make("path", { d: "M0 0L-5 -9H5Z" }));
  const toLeft = point.x > paper.width - 90;
  const y = shape === "set" ? 4 : 18;
  if (words) group.append(make("text", { x: toLeft ? 4 : -4, y, "text-anchor": toLeft ? "end" : "start" }, words));
  return group;
}

/** Start and end, as one label where they are the same place. */
function ends(paper: Sheet): (SVGElement | null)[] {
  const last = paper.points.length - 1;
  const [a, b] = [paper.points[0], paper.points[last]];
  const together = a && b && Math.hypot(a.x - b.x, a.y - b.y) < 50 && Math.abs(a.y - b.y) < 20;
  const words = together ? ["", "start, end"] : ["start", "end"];
  return [named(paper, last, words[1] ?? "", "end"), named(paper, 0, words[0] ?? "", "start")];
}

function pointer(): SVGElement {
  const group = make("g", { class: "now" });
  group.append(make("circle", { r: 7 }));
  group.append(make("path", { class: "shown", d: "M0 -7V-34" }));
  group.append(make("path", { class: "true", d: "M0 -7V-34M-4 -27L0 -35L4 -27" }));
  return group;
}

export function route(host: HTMLElement, reply: Reply, cursor: Cursor): (row: number) => void {
  host.replaceChildren();
  const width = Math.max(240, host.clientWidth);
  const paper = sheet(reply.trace, width, Math.round(Math.min(width * HEIGHT_SHARE, innerHeight * 0.36)));
  const svg = make("svg", { width: paper.width, height: paper.height, role: "img" });
  svg.setAttribute("aria-label", "The route, north up, with start, end, turns and settings");
  svg.append(graticule(paper));
  for (const span of turns(reply)) {
    svg.append(make("path", { class: "turned", d: run(paper, cursor.nearest(span.fromS), cursor.nearest(span.toS)) }));
  }
  svg.append(make("path", { class: "flown", d: run(paper, 0, paper.points.length - 1) }));
  const settings = reply.events.filter((event) => event.sets).map((event) => named(paper, cursor.nearest(event.time_s), "", "set"));
  for (const mark of [...settings, ...ends(paper)]) if (mark) svg.append(mark);
  const now = pointer();
  svg.append(scaleBar(paper), northMark(paper), now);
  pointing(svg, cursor, (event) => nearest(event, svg, paper));
  host.append(svg);
  return (row) => {
    const point = paper.points[row];
    if (!point) return;
    const heading = reply.trace.true_heading_deg[row] ?? 0;
    now.setAttribute("transform", `translate(${point.x.toFixed(1)} ${point.y.toFixed(1)}) rotate(${heading})`);
    now.querySelector(".shown")?.setAttribute("transform", `rotate(${reply.trace.heading_error_deg[row] ?? 0})`);
  };
}

/** The row nearest to the pointer, if any is close. */
function nearest(event: PointerEvent, svg: SVGElement, paper: Sheet): number | null {
  const box = svg.getBoundingClientRect();
  const x = event.clientX - box.left;
  const y = event.clientY - box.top;
  let best: number | null = null;
  let least = REACH_PX;
  paper.points.forEach((point, row) => {
    if (!point) return;
    const away = Math.hypot(point.x - x, point.y - y);
    if (away < least) {
      least = away;
      best = row;
    }
  });
  return best;
}
