// The bench: frames come over the socket, panes are drawn at the display rate, controls send commands.

import "./style.css";
import { render } from "lit-html";
import { clock, heading } from "../../shared/numbers.ts";
import * as theme from "../../shared/theme.ts";
import { givenCauses } from "../../instrument/causes.ts";
import { benchActions } from "../../instrument/controls/actions.ts";
import * as demonstrations from "../../instrument/controls/demonstrations.ts";
import { listen } from "../../instrument/controls/doing.ts";
import { listenKeys } from "../../instrument/controls/keys.ts";
import { faultList, ghostLegend, type IdeaView, ideaList, letters, sceneList } from "../../instrument/controls/lists.ts";
import { allow, reflect } from "../../instrument/controls/reflect.ts";
import { Steering } from "./controls/steering.ts";
import { choose, listenTabs } from "./controls/tabs.ts";
import { Cutaway } from "../../instrument/cutaway.ts";
import type { Face } from "../../instrument/dials/face.ts";
import { Handouts } from "./handouts.ts";
import { pageLook } from "../../instrument/look.ts";
import { Measure } from "../../instrument/measure.ts";
import { type Frame, type Hello, type Scene, shownIn } from "../../instrument/messages.ts";
import { element } from "../../instrument/page.ts";
import { listenParts } from "../../instrument/parts.ts";
import { Panes } from "./panes.ts";
import { Recording } from "./recording.ts";
import { openAddress, Session } from "../../instrument/session.ts";
import { Showing } from "../../instrument/showing.ts";
import { Spoken } from "../../instrument/spoken.ts";
import { lessWholeTurns } from "../../instrument/turns.ts";
import { WhyPane } from "./why/pane.ts";

const SLOW_EVERY_MS = 250;

const query = new URLSearchParams(location.search);
const causes = givenCauses();
const recording = new Recording();
const panes = new Panes(() => session.again());
const why = new WhyPane(causes, recording);
const showing = new Showing("Open the instrument, fly it, break it");
const measure = new Measure();
const spoken = new Spoken();

let slowMs = 0;
let drives = false;
let face: Face = { look: pageLook(), letters: new Map(), numbers: true };
const mended = new Set<string>();

const session = new Session(query.get("bench") ?? "main", {
  greet,
  take,
  lost: () => {
    drives = false;
    allow(false);
  },
});
const { send } = session;
const cutaway = new Cutaway(element("cutaway"), send, () => drives);
const bank = new Steering("bank", 75, send);
const pitch = new Steering("pitch", 100, send);
const handouts = new Handouts(recording, session.connection, session.bench, () => ({ face, causes, ideas: session.hello?.ideas ?? [] }));

function greet(hello: Hello): void {
  recording.begin(hello.history.map(lessWholeTurns));
  panes.fit(hello.dials);
  openAddress(query, send);
}

function take(frame: Frame): void {
  face = { ...face, letters: letters(frame.ghosts) };
  recording.add(frame);
  if (session.hello) showing.follow(session.hello, frame);
  const { scene, step } = shownIn(session.hello?.scenes ?? [], frame);
  cutaway.show(step ?? scene);
}

function ideaView(frame: Frame): IdeaView {
  return {
    on: new Set(frame.ghosts.map((ghost) => ghost.id)),
    mended,
    drives,
    letters: face.letters,
    mend: (id) => {
      if (!mended.delete(id)) mended.add(id);
      slowMs = 0;
    },
    send,
  };
}

function loadScene(scene: Scene): void {
  // One command: between two, a frame could run and remove the question before it was asked.
  send({ do: "scene", id: scene.id, paused: Boolean(scene.ask) });
  showing.ask(scene);
  document.documentElement.scrollTo({ top: 0 });
}

/** Lists, buttons, numbers: four times a second. */
function drawSlow(frame: Frame, nowMs: number): void {
  if (drives !== frame.driver || slowMs === 0) {
    drives = frame.driver;
    allow(drives);
  }
  slowMs = nowMs;
  reflect(frame);
  panes.say(frame, face);
  const view = ideaView(frame);
  const { ideas = [], faults = [], scenes = [] } = session.hello ?? {};
  render(faultList(faults, frame, drives, send), element("fault-list"));
  render(ideaList(ideas, view), element("idea-list"));
  render(ghostLegend(ideas, frame, view, heading), element("ghost-list"));
  render(sceneList(scenes, frame.scene, drives, loadScene), element("scene-list"));
  const watching = frame.viewers === 1 ? "" : `${frame.viewers} pages watching`;
  element("seats").textContent = watching;
  spoken.follow(frame, nowMs);
}

function draw(): void {
  requestAnimationFrame(draw);
  const nowMs = performance.now();
  const frame = session.moment(nowMs);
  if (!frame || !session.latest) return;
  panes.draw(frame, face);
  why.draw(frame, face, nowMs);
  element("clock").textContent = clock(frame.time_s) + (frame.paused ? " stopped" : frame.pace === 1 ? "" : ` ×${frame.pace}`);
  if (nowMs - slowMs > SLOW_EVERY_MS) drawSlow(session.latest, nowMs);
  cutaway.draw(frame);
  measure.add(performance.now() - nowMs);
}

function whySide(side: "cutaway" | "ledger"): void {
  element("bench").dataset["why"] = side;
  for (const one of ["cutaway", "ledger"]) {
    document.querySelector(`[data-page="why-${one}"]`)?.setAttribute("aria-pressed", String(one === side));
  }
}

function toggleNumbers(): void {
  face = { ...face, numbers: !face.numbers };
  element("numbers").setAttribute("aria-pressed", String(!face.numbers));
  redraw();
}

function redraw(): void {
  face = { ...face, look: pageLook() };
  session.again();
  slowMs = 0;
  cutaway.recolour();
}

const actions: { [name: string]: () => void } = {
  ...benchActions(session),
  ...handouts.actions(() => session.latest),
  ...cutaway.actions,
  rewind: session.withFrame((frame) => send({ do: "rewind", to_s: Math.max(0, frame.time_s - 60) })),
  level: () => demonstrations.level(send),
  cage: session.withFrame((frame) => send({ do: "cage", on: !frame.gyro.caged })),
  "bank-left": session.withFrame((frame) => bank.by(-1, frame)),
  "bank-right": session.withFrame((frame) => bank.by(1, frame)),
  "pitch-up": session.withFrame((frame) => pitch.by(1, frame)),
  "pitch-down": session.withFrame((frame) => pitch.by(-1, frame)),
  "why-cutaway": () => whySide("cutaway"),
  "why-ledger": () => whySide("ledger"),
  numbers: toggleNumbers,
  say: session.withFrame((frame) => spoken.again(frame)),
};

document.documentElement.dataset["script"] = "on";
element<HTMLAnchorElement>("to-stage").href = `/stage?bench=${session.bench}`;
theme.listen(redraw);
listen({ send, actions });
listenKeys();
listenParts(cutaway);
listenTabs();
choose("fly");
whySide("cutaway");
allow(false);
addEventListener("resize", redraw);
requestAnimationFrame(draw);
// For tests: script time per frame, and the last frame drawn.
Object.assign(globalThis, { lubberline: { measure, frame: () => session.latest } });
