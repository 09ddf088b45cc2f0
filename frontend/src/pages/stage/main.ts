// The stage: the instrument as large as the room, one dial, the sentence to watch for, five actions.

import "./style.css";
import { html, nothing, render } from "lit-html";
import type { CameraState } from "../../cutaway/index.ts";
import { givenCauses } from "../../instrument/causes.ts";
import { Live } from "../../instrument/live.ts";
import { type Frame, type Hello, type Scene, shownIn, type Step } from "../../instrument/messages.ts";
import { benchQuery } from "../../instrument/opening.ts";
import { element } from "../../instrument/page.ts";
import { listenParts } from "../../instrument/parts.ts";
import { Showing } from "../../instrument/showing.ts";
import { clock } from "../../shared/numbers.ts";
import { LargeDial } from "./dials.ts";
import { listenEye } from "./eye.ts";
import * as screen from "./screen.ts";
import { Tour } from "./tour.ts";
import { why } from "./why.ts";

/** The whole instrument, as large as the picture allows. */
const HOME: CameraState = { orbit_deg: 58, height_deg: 11, distance: 1, look: "instrument" };
/** A state's address of nothing but its version: a bench as it is first opened. */
const FRESH = "1";

const causes = givenCauses();
const dial = new LargeDial(() => live.session.again());
const showing = new Showing("The heading indicator", "Press 15 minutes: the card drifts, although nobody touches it.");
const live = new Live({ take, draw, drawSlow, shows: () => !screen.isBlank(), asks: (scene) => showing.ask(scene) }, HOME);
const { cutaway, query, session } = live;
const { send } = session;
const eye = listenEye(cutaway);
const tour = new Tour(session.bench, send);
/** A bench that is named, or has a scene on it, is shown as it stands; any other runs. */
let mayStart = !["bench", "state", "scene"].some((name) => query.has(name));
let shown: Scene | Step | null = null;

function take(frame: Frame): void {
  if (mayStart && frame.driver) {
    mayStart = false;
    if (frame.scene === null && frame.paused) run();
  }
  if (session.hello) follow(session.hello, frame);
}

function run(): void {
  send({ do: "pause", on: false });
}

function leaveScene(): void {
  send({ do: "state", text: FRESH });
  run();
}

/** A new scene, or a new step of a tour, has its own picture and its own dial. */
function follow(hello: Hello, frame: Frame): void {
  showing.follow(hello, frame);
  const { scene, step } = shownIn(hello.scenes, frame);
  tour.follow(scene, frame);
  element("leave-scene").hidden = frame.scene === null;
  cutaway.show(step ?? scene, frame.caption ?? "");
  if (shown === (step ?? scene)) return;
  shown = step ?? scene;
  dial.choose(shown?.dial ?? "heading");
  eye(step?.part ?? null);
}

function drawSlow(frame: Frame): void {
  dial.say(frame);
  tour.allow(live.drives);
  const reason = frame.step ? null : why(frame, causes);
  // What was to be watched for has happened.
  element("caption").hidden = reason !== null && frame.scene === null;
  render(
    reason ? html`<p class="shows">${reason.shows}</p><p>${reason.sentence} <span class="meta">${reason.cause}</span></p>` : nothing,
    element("why"),
  );
}

function draw(frame: Frame): void {
  dial.draw(frame, live.face);
  element("clock").textContent = clock(frame.time_s) + (frame.paused || frame.pace === 1 ? "" : ` ×${frame.pace}`);
}

element<HTMLAnchorElement>("to-bench").href = `/bench${benchQuery(session.bench)}`;
listenParts(cutaway, eye);
screen.listen();
live.begin({ "leave-scene": leaveScene, ...tour.actions, ...dial.actions(live.redraw), ...screen.actions });
