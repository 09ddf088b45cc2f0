// The place of the cutaway, which comes as a part of its own after the dials have been drawn.

import type { Frame } from "./messages.ts";

export class Cutaway {
  constructor(private readonly host: HTMLElement) {}

  draw(_frame: Frame): void {
    void this.host;
  }

  recolour(): void {}
}
