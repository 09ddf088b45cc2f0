// Addresses, scenes and pictures to copy or save.

import { svg } from "lit-html";
import type { Connection } from "../../instrument/connection.ts";
import { download, png, standing, svgText } from "./handout/save.ts";
import { type Sheet, SHEET_SIZE, sheet, STRIP_SIZE, strip } from "./handout/sheet.ts";
import { PAPER } from "../../instrument/look.ts";
import type { Frame } from "../../instrument/messages.ts";
import { element } from "../../instrument/page.ts";
import type { Recording } from "./recording.ts";

const MOMENTS = 6;

export class Handouts {
  private marked: Frame[] = [];

  constructor(
    private readonly recording: Recording,
    private readonly connection: Connection,
    private readonly bench: string,
    private readonly given: () => Sheet,
  ) {}

  actions(latest: () => Frame | null): { [name: string]: () => void } {
    const withFrame = (deed: (frame: Frame) => void) => (): void => {
      const frame = latest();
      if (frame) deed(frame);
    };
    return {
      "copy-address": () => void this.copyAddress(),
      "save-scene": () => void this.saveScene(),
      "picture-svg": withFrame((frame) => {
        this.save(nameOf(frame, "svg"), svgText(sheet(frame, this.onPaper()), SHEET_SIZE));
      }),
      "picture-png": withFrame((frame) => {
        void png(sheet(frame, this.onPaper()), SHEET_SIZE).then((picture) => download(nameOf(frame, "png"), picture));
      }),
      mark: withFrame((frame) => this.mark(frame)),
      unmark: () => {
        this.marked = [];
        this.showMarks();
      },
      "strip-svg": () => this.save("bench-strip.svg", svgText(strip(this.moments(), this.onPaper()), STRIP_SIZE)),
      "strip-print": () => this.print(),
    };
  }

  private onPaper(): Sheet {
    const sheet = this.given();
    return { ...sheet, face: { ...sheet.face, look: PAPER, numbers: true } };
  }

  private mark(frame: Frame): void {
    this.marked = [...this.marked, frame].slice(-MOMENTS);
    this.showMarks();
  }

  private showMarks(): void {
    const count = this.marked.length;
    element("mark").textContent = count ? `Mark this moment (${count} of ${MOMENTS})` : "Mark this moment";
  }

  private moments(): Frame[] {
    if (this.marked.length) return this.marked;
    return this.recording.evenly(MOMENTS, Number(element<HTMLSelectElement>("strip-span").value));
  }

  private save(name: string, text: string): void {
    download(name, new Blob([`<?xml version="1.0" encoding="UTF-8"?>\n${text}`], { type: "image/svg+xml" }));
  }

  private print(): void {
    const paper = element("paper");
    const drawing = standing(svg`${strip(this.moments(), this.onPaper())}`, STRIP_SIZE);
    paper.replaceChildren(drawing);
    print();
  }

  private async copyAddress(): Promise<void> {
    const kept = await this.connection.keep();
    if (!kept) return;
    const address = `${location.origin}/bench?${this.bench === "main" ? "" : `bench=${this.bench}&`}state=${kept.state}`;
    const field = element<HTMLInputElement>("address");
    field.value = address;
    try {
      await navigator.clipboard.writeText(address);
      this.connection.say("Address of this state copied.");
    } catch {
      field.select();
      this.connection.say("Copy the address from the field.");
    }
  }

  private async saveScene(): Promise<void> {
    const kept = await this.connection.keep();
    if (kept) download("scene.toml", new Blob([kept.scene_toml], { type: "application/toml" }));
  }
}

function nameOf(frame: Frame, kind: string): string {
  return `bench-${Math.round(frame.time_s)}s.${kind}`;
}

