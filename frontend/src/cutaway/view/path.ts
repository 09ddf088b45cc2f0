// A camera path through a scene: its points, and the state at any time between them.

import type { CameraState, ViewState } from "../frame.ts";
import { between } from "./steering.ts";

/** One `[[camera]]` of a scene file. */
export interface Station extends CameraState {
  at_s: number;
  explode: number;
  hide_case: boolean;
  follow: NonNullable<ViewState["follow"]>;
}

/** Duration of the move that ends at this point. */
const MOVE_S = 3;

const cameraOf = ({ orbit_deg, height_deg, distance, look }: Station): CameraState => ({ orbit_deg, height_deg, distance, look });

/** Camera and view at a time. Moves between points are eased; `still` (reduced motion) cuts instead. */
export function alongPath(
  stations: readonly Station[],
  time_s: number,
  still: boolean,
): { camera: CameraState; view: Pick<ViewState, "explode" | "hideCase" | "follow"> } | null {
  const next = stations.findIndex((one) => one.at_s > time_s);
  const from = stations[(next < 0 ? stations.length : next) - 1] ?? stations[0];
  if (!from) return null;
  const to = next > 0 ? (stations[next] as Station) : from;
  const move_s = Math.min(MOVE_S, to.at_s - from.at_s);
  const done = still || move_s <= 0 ? 0 : Math.max(0, 1 - (to.at_s - time_s) / move_s);
  const share = done * done * (3 - 2 * done);
  const near = share < 0.5 ? from : to;
  return {
    camera: between(cameraOf(from), cameraOf(to), done),
    view: { explode: from.explode + (to.explode - from.explode) * share, hideCase: near.hide_case, follow: near.follow },
  };
}
