// What the large buttons and the clock do, on the bench and on the stage, by the name in `data-page`.

import type { Session } from "../session.ts";
import * as demonstrations from "./demonstrations.ts";
import { showKeys } from "./keys.ts";

export function benchActions(session: Session): { [name: string]: () => void } {
  const { send } = session;
  return {
    keys: showKeys,
    take: () => send({ do: "take" }),
    pause: session.withFrame((frame) => send({ do: "pause", on: !frame.paused })),
    turn: session.withFrame((frame) => demonstrations.turn(frame, send)),
    tumble: session.withFrame((frame) => demonstrations.tumble(frame, send)),
    pump: session.withFrame((frame) => demonstrations.pump(frame, send)),
    quarter: session.withFrame((frame) => demonstrations.quarter(frame, send)),
  };
}
