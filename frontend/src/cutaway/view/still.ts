// The finest picture of a moment that stands still: drawn beside the screen in bands, one after the other, so that
// a touch never waits for more than one of them, and shown when all are there.

import { Vector2 } from "three";
import type { Sheet } from "./sheet.ts";
import { makeStopwatch } from "./stopwatch.ts";
import type { Moment, Stage } from "./stage.ts";

/** Nothing has moved for so long: then it stands still. */
const STILL_MS = 250;
const BANDS = 10;

export interface Still {
  /** Draws this moment finely once nothing has moved for a while. */
  begin: (moment: Moment) => void;
  /** Drops what is not shown yet. */
  drop: () => void;
}

export function makeStill(stage: Stage, sheet: Sheet, shown: () => void): Still {
  const { renderer } = stage;
  const stopwatch = makeStopwatch(renderer.getContext() as WebGL2RenderingContext);
  let timer = 0;
  const drop = (): void => {
    window.clearTimeout(timer);
    stopwatch.stop();
  };
  const band = (moment: Moment, number: number): void => {
    sheet.on(() => stage.draw(moment, true), number / BANDS, (number + 1) / BANDS);
    stopwatch.time(performance.now(), () => {
      if (number + 1 < BANDS) return band(moment, number + 1);
      // A canvas that had fewer points while it moved gets its own resolution again.
      if (renderer.getPixelRatio() !== devicePixelRatio) renderer.setPixelRatio(devicePixelRatio);
      sheet.show();
      shown();
    });
  };
  return {
    drop,
    begin: (moment) => {
      drop();
      timer = window.setTimeout(() => {
        const { width, height } = renderer.getSize(new Vector2());
        sheet.target.setSize(Math.round(width * devicePixelRatio), Math.round(height * devicePixelRatio));
        band(moment, 0);
      }, STILL_MS);
    },
  };
}
