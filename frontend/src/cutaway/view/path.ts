// A camera path through a scene: its points, and the state at any time between them.

import type { CameraState, ViewState } from "../frame.ts";

/** One `[[camera]]` of a scene file. */
export interface Station extends CameraState {
  at_s: number;
  explode: number;
  hide_case: boolean;
}

/** Duration of the move that ends at this point. */
const MOVE_S = 3;

const shortest = (from_deg: number, to_deg: number): number => ((((to_deg - from_deg) % 360) + 540) % 360) - 180;

/** Camera and view at a time. Moves between points are eased; `still` (reduced motion) cuts instead. */
export function alongPath(
  stations: readonly Station[],
  time_s: number,
  still: boolean,
): { camera: CameraState; view: Pick<ViewState, "explode" | "hideCase"> } | null {
  const next = stations.findIndex((one) => one.at_s > time_s);
  const from = stations[(next < 0 ? stations.length : next) - 1] ?? stations[0];
  if (!from) return null;
  const to = next > 0 ? (stations[next] as Station) : from;
  const move_s = Math.min(MOVE_S, to.at_s - from.at_s);
  const done = still || move_s <= 0 ? 0 : Math.max(0, 1 - (to.at_s - time_s) / move_s);
  const share = done * done * (3 - 2 * done);
  const mix = (a: number, b: number): number => a + (b - a) * share;
  const near = share < 0.5 ? from : to;
  return {
    camera: {
      orbit_deg: from.orbit_deg + shortest(from.orbit_deg, to.orbit_deg) * share,
      height_deg: mix(from.height_deg, to.height_deg),
      distance: mix(from.distance, to.distance),
      look: near.look,
    },
    view: { explode: mix(from.explode, to.explode), hideCase: near.hide_case },
  };
}
