// The bench: frames come over the socket, panes are drawn at the display rate, controls send commands.

import "./style.css";
import { render } from "lit-html";
import { clock, heading } from "../../shared/numbers.ts";
import { givenCauses } from "../../instrument/causes.ts";
import * as demonstrations from "../../instrument/controls/demonstrations.ts";
import { faultList, ghostLegend, type IdeaView, ideaList, sceneList } from "../../instrument/controls/lists.ts";
import { Live } from "../../instrument/live.ts";
import { type Frame, type Hello, type Scene, shownIn } from "../../instrument/messages.ts";
import { element } from "../../instrument/page.ts";
import { listenParts } from "../../instrument/parts.ts";
import { Showing } from "../../instrument/showing.ts";
import { lessWholeTurns } from "../../instrument/turns.ts";
import { Steering } from "./controls/steering.ts";
import { choose, listenTabs } from "./controls/tabs.ts";
import { Handouts } from "./handouts.ts";
import { Panes } from "./panes.ts";
import { Recording } from "./recording.ts";
import { WhyPane } from "./why/pane.ts";

const causes = givenCauses();
const recording = new Recording();
const panes = new Panes(() => session.again());
const why = new WhyPane(causes, recording);
const showing = new Showing("Open the instrument, fly it, break it");
const mended = new Set<string>();
const live = new Live({ greet, take, draw, drawSlow });
const { cutaway, session } = live;
const { send } = session;
const bank = new Steering("bank", 75, send);
const pitch = new Steering("pitch", 100, send);
const handouts = new Handouts(recording, session.connection, session.bench, () => ({ face: live.face, causes, ideas: session.hello?.ideas ?? [] }));

function greet(hello: Hello): void {
  recording.begin(hello.history.map(lessWholeTurns));
  panes.fit(hello.dials);
}

function take(frame: Frame): void {
  recording.add(frame);
  if (session.hello) showing.follow(session.hello, frame);
  const { scene, step } = shownIn(session.hello?.scenes ?? [], frame);
  cutaway.show(step ?? scene, frame.caption ?? "");
}

function ideaView(frame: Frame): IdeaView {
  return {
    on: new Set(frame.ghosts.map((ghost) => ghost.id)),
    mended,
    drives: live.drives,
    letters: live.face.letters,
    mend: (id) => {
      if (!mended.delete(id)) mended.add(id);
      live.soon();
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
function drawSlow(frame: Frame): void {
  panes.say(frame, live.face);
  const view = ideaView(frame);
  const { ideas = [], faults = [], scenes = [] } = session.hello ?? {};
  render(faultList(faults, frame, live.drives, send), element("fault-list"));
  render(ideaList(ideas, view), element("idea-list"));
  render(ghostLegend(ideas, frame, view, heading), element("ghost-list"));
  render(sceneList(scenes, frame.scene, live.drives, loadScene), element("scene-list"));
  element("seats").textContent = frame.viewers === 1 ? "" : `${frame.viewers} pages watching`;
}

function draw(frame: Frame, nowMs: number): void {
  panes.draw(frame, live.face);
  why.draw(frame, live.face, nowMs);
  element("clock").textContent = clock(frame.time_s) + (frame.paused ? " stopped" : frame.pace === 1 ? "" : ` ×${frame.pace}`);
}

function whySide(side: "cutaway" | "ledger"): void {
  element("bench").dataset["why"] = side;
  for (const one of ["cutaway", "ledger"]) {
    document.querySelector(`[data-page="why-${one}"]`)?.setAttribute("aria-pressed", String(one === side));
  }
}

function toggleNumbers(): void {
  live.face = { ...live.face, numbers: !live.face.numbers };
  element("numbers").setAttribute("aria-pressed", String(!live.face.numbers));
  live.redraw();
}

element<HTMLAnchorElement>("to-stage").href = `/stage?bench=${session.bench}`;
listenParts(cutaway);
listenTabs();
choose("fly");
whySide("cutaway");
live.begin({
  ...handouts.actions(() => session.latest),
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
  say: session.withFrame((frame) => live.spoken.again(frame)),
});
