// The numbers of one moment: a list, the 'now' column of the table, and one sentence for screen readers.

import { suctionText } from "../../shared/suction.ts";
import { referenceColumn, referenceName } from "./charts/headings.ts";
import { clock, heading, latitude, longitude, plain, signed, signedShort } from "../../shared/numbers.ts";
import type { Reply } from "./reply.ts";

const SAID_AFTER_MS = 500;

export function sentence(reply: Reply, row: number): string {
  const parts = reply.causes
    .filter((cause) => Math.abs(reply.ledger[cause.key]?.[row] ?? 0) >= 0.05)
    .map((cause) => `${cause.name} ${signed(reply.ledger[cause.key]?.[row])}`);
  return `${shortly(reply, row)}${parts.length ? ": " + parts.join(", ") : ""}`;
}

export function shortly(reply: Reply, row: number): string {
  const { trace } = reply;
  return (
    `${clock(reply.time_s[row] ?? 0)} indicated ${heading(trace.indicated_heading_deg[row])}, ` +
    `${referenceName(reply)} ${heading(referenceColumn(reply)[row])}, error ${signed(trace.heading_error_deg[row])}`
  );
}

function sinceSet(reply: Reply, timeS: number): string {
  const last = reply.events.filter((event) => event.sets && event.time_s <= timeS).pop();
  if (!last) return "not yet";
  const minutes = (timeS - last.time_s) / 60;
  return minutes < 0.5 ? last.words : `${plain(minutes)} min ago`;
}

type Pair = [term: string, words: string];

function readings(reply: Reply, row: number): Pair[] {
  const { trace } = reply;
  return [
    ["indicated", heading(trace.indicated_heading_deg[row])],
    [referenceName(reply), heading(referenceColumn(reply)[row])],
    ["error", signed(trace.heading_error_deg[row])],
  ];
}

function details(reply: Reply, row: number): Pair[] {
  const { trace } = reply;
  const suction = trace.gauge_inhg[row];
  const rotor = trace.rotor_rpm[row];
  const out: Pair[] = [
    ["since the start", clock(reply.time_s[row] ?? 0)],
    ["last set", sinceSet(reply, reply.time_s[row] ?? 0)],
    ["compass", `${heading(trace.compass_deg[row])}, error ${signed(trace.compass_error_deg[row])}`],
    ["bank", `${signed(trace.bank_deg[row], 0)}°`],
    ["ground", `${heading(trace.track_deg[row])}° at ${plain(trace.groundspeed_kt[row])} kt`],
    ["place", `${latitude(trace.latitude_deg[row])}, ${longitude(trace.longitude_deg[row])}`],
  ];
  if (suction !== null && suction !== undefined) out.push(["suction", suctionText(suction)]);
  if (rotor !== null && rotor !== undefined) out.push(["rotor", `${plain(rotor)} rpm`]);
  if (trace.on_stop[row]) out.push(["gimbal", "on its stop"]);
  for (const idea of reply.believed) {
    out.push(["with the wrong idea", heading(idea.indicated_heading_deg[row])]);
  }
  return out;
}

function fill(list: HTMLElement, pairs: Pair[]): void {
  list.replaceChildren(
    ...pairs.map(([term, words]) => {
      const pair = document.createElement("div");
      const name = document.createElement("dt");
      const value = document.createElement("dd");
      name.textContent = term;
      value.textContent = words;
      pair.append(name, value);
      return pair;
    }),
  );
}

export function moment(reply: Reply): (row: number) => void {
  const list = document.getElementById("moment") as HTMLElement;
  const more = document.getElementById("details") as HTMLElement;
  const spoken = document.getElementById("spoken") as HTMLElement;
  const cells = [...document.querySelectorAll<HTMLElement>("[data-now]")];
  let timer = 0;
  return (row) => {
    fill(list, readings(reply, row));
    fill(more, details(reply, row));
    for (const cell of cells) cell.textContent = signedShort(reply.ledger[cell.dataset["now"] ?? ""]?.[row]);
    clearTimeout(timer);
    timer = window.setTimeout(() => {
      spoken.textContent = sentence(reply, row);
    }, SAID_AFTER_MS);
  };
}
