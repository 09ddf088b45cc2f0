// The stage: the instrument as large as the room, one dial, the sentence to watch for, five actions.

import "./style.css";
import { html, nothing, render } from "lit-html";
import type { CameraState } from "../../cutaway/index.ts";
import { givenCauses } from "../../instrument/causes.ts";
import { benchActions } from "../../instrument/controls/actions.ts";
import { listen } from "../../instrument/controls/doing.ts";
import { listenKeys } from "../../instrument/controls/keys.ts";
import { letters } from "../../instrument/controls/lists.ts";
import { allow, reflect } from "../../instrument/controls/reflect.ts";
import { Cutaway } from "../../instrument/cutaway.ts";
import type { Face } from "../../instrument/dials/face.ts";
import { pageLook } from "../../instrument/look.ts";
import { Measure } from "../../instrument/measure.ts";
import { type Frame, type Hello, type Scene, shownIn, type Step } from "../../instrument/messages.ts";
import { element } from "../../instrument/page.ts";
import { listenParts } from "../../instrument/parts.ts";
import { Session } from "../../instrument/session.ts";
import { Showing } from "../../instrument/showing.ts";
import { Spoken } from "../../instrument/spoken.ts";
import { clock } from "../../shared/numbers.ts";
import * as theme from "../../shared/theme.ts";
import { LargeDial } from "./dials.ts";
import { listenEye } from "./eye.ts";
import * as screen from "./screen.ts";
import { Tour } from "./tour.ts";
import { why } from "./why.ts";

const SLOW_EVERY_MS = 250;
/** The whole instrument, as large as the picture allows. */
const HOME: CameraState = { orbit_deg: 58, height_deg: 11, distance: 0.92, look: "instrument" };

const query = new URLSearchParams(location.search);
const causes = givenCauses();
const dial = new LargeDial(() => session.again());
const showing = new Showing("The heading indicator", "Press 15 minutes: the card drifts, although nobody touches it.");
const measure = new Measure();
const spoken = new Spoken();
/** A bench that is named is shown as it stands; one that is just opened runs. */
let mayStart = !["bench", "state", "scene"].some((name) => query.has(name));
let slowMs = 0;
let shown: Scene | Step | null = null;
let drives = false;
let face: Face = { look: pageLook(), letters: new Map(), numbers: true };

const session = new Session(query.get("bench") ?? "main", {
  greet,
  take,
  lost: () => {
    drives = false;
    allow(false);
  },
});
const { send } = session;
const cutaway = new Cutaway(element("cutaway"), send, () => drives, HOME);
const eye = listenEye(cutaway);
const tour = new Tour(session.bench, send);

function greet({ scenes }: Hello): void {
  const state = query.get("state");
  const scene = scenes.find((one) => one.id === query.get("scene"));
  if (state) send({ do: "state", text: state });
  else if (query.has("scene")) send({ do: "scene", id: query.get("scene"), step: Number(query.get("step") ?? 1), paused: Boolean(scene?.ask) });
  if (scene?.ask) showing.ask(scene);
  // What was opened is on the bench now: a lost connection must not open it again.
  query.delete("state");
  query.delete("scene");
}

function take(frame: Frame): void {
  face = { ...face, letters: letters(frame.ghosts) };
  if (session.hello) follow(session.hello, frame);
  if (!frame.driver) return;
  if (mayStart && frame.paused) send({ do: "pause", on: false });
  mayStart = false;
}

/** A new scene, or a new step of a tour, has its own picture and its own dial. */
function follow(hello: Hello, frame: Frame): void {
  showing.follow(hello, frame);
  const { scene, step } = shownIn(hello.scenes, frame);
  tour.follow(scene, frame);
  cutaway.show(step ?? scene);
  if (shown === (step ?? scene)) return;
  shown = step ?? scene;
  dial.choose(shown?.dial ?? "heading");
  eye(step?.part ?? null);
}

/** Buttons and sentences: four times a second. */
function drawSlow(frame: Frame, nowMs: number): void {
  if (drives !== frame.driver || slowMs === 0) {
    drives = frame.driver;
    allow(drives);
  }
  slowMs = nowMs;
  reflect(frame);
  dial.say(frame);
  tour.allow(drives);
  const reason = frame.step ? null : why(frame, causes);
  // What was to be watched for has happened.
  element("caption").hidden = reason !== null && frame.scene === null;
  render(
    reason ? html`<p class="shows">${reason.shows}</p><p>${reason.sentence} <span class="meta">${reason.cause}</span></p>` : nothing,
    element("why"),
  );
  spoken.follow(frame, nowMs);
}

function draw(): void {
  requestAnimationFrame(draw);
  const nowMs = performance.now();
  const frame = session.moment(nowMs);
  if (!frame || !session.latest) return;
  dial.draw(frame, face);
  element("clock").textContent = clock(frame.time_s) + (frame.paused || frame.pace === 1 ? "" : ` ×${frame.pace}`);
  if (nowMs - slowMs > SLOW_EVERY_MS) drawSlow(session.latest, nowMs);
  if (!screen.isBlank()) cutaway.draw(frame);
  measure.add(performance.now() - nowMs);
}

function redraw(): void {
  face = { ...face, look: pageLook() };
  session.again();
  slowMs = 0;
  cutaway.recolour();
}

const benchAddress = (): string => (session.bench === "main" ? "/bench" : `/bench?bench=${session.bench}`);

document.documentElement.dataset["script"] = "on";
element<HTMLAnchorElement>("to-bench").href = benchAddress();
theme.listen(redraw);
listen({
  send,
  actions: { ...benchActions(session), ...cutaway.actions, ...tour.actions, ...dial.actions(redraw), ...screen.actions },
});
listenKeys();
listenParts(cutaway, eye);
screen.listen();
allow(false);
addEventListener("resize", redraw);
requestAnimationFrame(draw);
// For tests: script time per frame, the last frame drawn, and the drawing.
Object.assign(globalThis, { lubberline: { measure, frame: () => session.latest, cutaway } });
