// All drawings of one flight, showing the same moment.

import { card } from "./card.ts";
import type { Cursor } from "./cursor.ts";
import type { Design } from "./charts/design.ts";
import { type Chart, chart } from "./charts/frame.ts";
import { headings } from "./charts/headings.ts";
import { account } from "./charts/ledger.ts";
import { moment } from "./moment.ts";
import type { Reply } from "./reply.ts";
import { route } from "./route/route.ts";
import { strips } from "./charts/strips.ts";
import type { Stretch } from "./stretch.ts";
import { follow } from "./timebar.ts";

const strip = document.getElementById("strip") as HTMLElement;
const host = document.getElementById("charts") as HTMLElement;

function designs(reply: Reply): Design[] {
  // The height of the charts depends on the page, from projector to phone.
  const unit = Math.max(0.72, Math.min(1.25, innerHeight / 900));
  return [
    account(reply, {
      id: "ledger",
      title: "Error of the heading indicator, by cause",
      total: "error",
      // The strip is what the page is about.
      // On a phone the whole strip is seen before anything is scrolled.
      height: Math.round(Math.max(260, Math.min(640, (innerWidth < innerHeight ? 0.36 : 0.48) * innerHeight))),
      ledger: reply.ledger,
      causes: reply.causes,
      ghosts: reply.believed.map((idea) => ({ values: idea.total_deg, colour: "ghost", width: 5 })),
      cut: "tumble",
    }),
    headings(reply, Math.round(210 * unit)),
    account(reply, {
      id: "compass",
      title: "Error of the compass, by cause",
      total: "compass error",
      height: Math.round(190 * unit),
      ledger: reply.compass_ledger,
      causes: reply.compass_causes,
      ghosts: [],
      cut: "bands",
    }),
    ...strips(reply, Math.round(105 * unit)),
  ];
}

export class Drawing {
  private charts: Chart[] = [];

  constructor(private readonly cursor: Cursor) {}

  /** For another flight, colours or width. */
  put(reply: Reply, stretch: Stretch, timeS: number): void {
    const held = document.activeElement?.closest("figure")?.id;
    for (const old of this.charts) old.destroy();
    this.cursor.begin(reply.time_s, [], timeS);
    this.charts = designs(reply).map((design) => chart(design.id === "ledger" ? strip : host, design, reply.time_s, this.cursor));
    const drawRoute = route(document.getElementById("route") as HTMLElement, reply, this.cursor);
    for (const show of [...this.charts.map((one) => one.show), drawRoute, card(reply), moment(reply), follow(reply, this.cursor)]) {
      this.cursor.watch(show);
    }
    this.stretch(stretch);
    this.cursor.to(this.cursor.row);
    if (held) document.getElementById(held)?.querySelector<HTMLElement>(".plot")?.focus();
  }

  stretch(stretch: Stretch): void {
    for (const one of this.charts) one.stretch(stretch);
  }
}
