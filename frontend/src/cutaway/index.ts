/**
 * The cutaway of a vacuum-driven heading indicator, in three dimensions.
 *
 *   const cutaway = createCutaway(canvas);      // the canvas needs a positioned parent and a size by style
 *   cutaway.draw(frame, camera, view);          // pure: the same three give the same picture
 *   cutaway.resize();                           // after a change of the canvas's size
 *   cutaway.pick(x, y);                         // part under a point of the canvas, or null
 *   const png = await cutaway.renderTo(1600, 900, frame, camera, view);
 *   cutaway.dispose();
 *
 * `frame` is a bench frame as the server sends it. `camera` and `view` belong to the caller: drawing never
 * changes them, has no clock, and animates nothing. Labels are drawn on a second canvas that is
 * inserted after the given one, so that both share a positioned parent.
 *
 * `handle(canvas, hands)` turns pointer and keys into camera changes, finger torques and knob turns:
 * drag orbits, wheel and pinch zoom, a press on the card is a finger (lever arm: the distance from its centre),
 * a drag on the knob turns it. Keys on the focused canvas: arrows orbit, + and - zoom, Home resets,
 * j and l press the card's left and right side while held, comma and full stop turn the knob by a degree.
 * `pressed` is called for a press without a drag, with the part under it.
 *
 * `PARTS` is the one list of part ids and names (`simulation/live/parts.json`). With `view.spoken` set to an id,
 * that part glows and the rest steps back; `bestOf(id)` is the camera that looks at it, and `between` the way there.
 * On a page, `Cutaway` of `instrument/cutaway.ts` offers both as `speakOf(id)` and `lookAt(id)`.
 *
 * `alongPath` returns camera and view on a scene's camera path at any time.
 *
 * Distance 1 fits the subject into a picture of any shape. Pictures have the screen's own resolution. What moves is
 * drawn at the level this machine can keep up with ("finest", or "plain": light at corners only); once nothing has
 * moved for a quarter of a second, the finest picture replaces a plain one.
 */
export { createCutaway, type Cutaway, type Options } from "./cutaway.ts";
export { PARTS, partsSaid, REST } from "./frame.ts";
export type { BenchFrame, CameraState, Look, Part, ViewState } from "./frame.ts";
export { handle, type Hands } from "./view/handling.ts";
export type { Measured } from "./view/measure.ts";
export { alongPath, type Station } from "./view/path.ts";
export type { Quality } from "./view/quality.ts";
export { BEST, bestOf, between, enlarged, HOME, orbited, zoomed } from "./view/steering.ts";
