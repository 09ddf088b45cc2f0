// The dial of an instrument without its own drawing, from the description in the greeting.

import type { DialKind, Frame } from "../messages.ts";
import type { Face } from "./face.ts";
import { type Gauge, ROUND_BOX, roundDial, spaced } from "./round.ts";

/** A value of the frame; another aircraft's instrument may lack it. */
function number(value: unknown): number | null {
  return typeof value === "number" ? value : null;
}

function gauge(kind: DialKind, frame: Frame, face: Face): Gauge {
  return {
    ...kind,
    value: number(frame.shown[kind.shows]),
    good: kind.good ?? undefined,
    ghosts: frame.ghosts.flatMap((ghost) => {
      const value = number(ghost[kind.shows]);
      return value === null ? [] : [{ value, letter: face.letters.get(ghost.id) ?? "" }];
    }),
  };
}

/** A picture for the panes: drawing, caption and words of one described dial. */
export function described(kind: DialKind) {
  return {
    name: "more",
    box: ROUND_BOX,
    caption: () => "",
    draw: (frame: Frame, face: Face) => roundDial(gauge(kind, frame, face), face),
    words: (frame: Frame) => {
      const value = number(frame.shown[kind.shows]);
      return `${kind.title}: ${value === null ? "none" : `${spaced(value, kind.decimals)} ${kind.unit}`}`;
    },
  };
}
