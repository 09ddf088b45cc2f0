// The Why pane: cutaway, ledger of the moment, its history, the account of a cause.

import { render, svg } from "lit-html";
import type { Face } from "../../../instrument/dials/face.ts";
import type { Cause, Frame } from "../../../instrument/messages.ts";
import { element } from "../../../instrument/page.ts";
import type { Recording } from "../recording.ts";
import { account } from "./account.ts";
import { bars, Rows } from "./bars.ts";
import { patterns } from "../../../instrument/causes.ts";
import { history } from "./history.ts";

const HISTORY_EVERY_MS = 500;

export class WhyPane {
  private readonly rows = new Rows();
  private opened = "";
  private latest: [Frame, Face] | null = null;
  private historyMs = 0;
  private readonly chart = document.createElementNS("http://www.w3.org/2000/svg", "svg");

  constructor(
    private readonly causes: Cause[],
    private readonly recording: Recording,
  ) {
    this.chart.setAttribute("role", "img");
    this.chart.setAttribute("aria-label", "Error by cause over time since it was last set; the bars show the present values");
    element("history").append(this.chart);
    render(svg`<defs>${patterns("why", causes)}</defs>`, element("definitions"));
  }

  draw(frame: Frame, face: Face, nowMs: number): void {
    this.latest = [frame, face];
    const open = (key: string): void => this.open(key);
    render(bars(frame, this.rows.of(frame, this.causes), this.opened, face.numbers, open), element("bars"));
    const cause = this.causes.find((one) => one.key === this.opened);
    if (cause) render(account(cause, frame, () => this.open(this.opened)), element("account"));
    if (nowMs - this.historyMs < HISTORY_EVERY_MS) return;
    this.historyMs = nowMs;
    this.drawHistory(face);
  }

  /** Opens the account of a cause, or closes the open one. */
  open(key: string): void {
    const held = this.opened;
    this.opened = this.opened === key ? "" : key;
    element("account").hidden = !this.opened;
    if (this.latest) this.draw(...this.latest, 0);
    if (!this.opened) document.querySelector<HTMLElement>(`[data-cause="${held}"]`)?.focus();
  }

  private drawHistory(face: Face): void {
    const host = element("history");
    const { clientWidth: width, clientHeight: height } = host;
    if (width < 60 || height < 40) return;
    this.chart.setAttribute("viewBox", `0 0 ${width} ${height}`);
    const plot = { width, height, look: face.look, prefix: "why" };
    render(svg`${history(this.recording, this.causes, plot)}`, this.chart as unknown as HTMLElement);
  }
}
