// The bench: frames come over the socket, panes are drawn at the display rate, controls send commands.

import "./style.css";
import { render } from "lit-html";
import { clock, heading } from "../../shared/numbers.ts";
import * as theme from "../../shared/theme.ts";
import { blend } from "../../instrument/blend.ts";
import { Connection } from "./connection.ts";
import * as demonstrations from "../../instrument/controls/demonstrations.ts";
import { listen } from "./controls/doing.ts";
import { listenKeys, showKeys } from "./controls/keys.ts";
import { faultList, ghostLegend, type IdeaView, ideaList, letters, sceneList } from "../../instrument/controls/lists.ts";
import { allow, reflect } from "./controls/reflect.ts";
import { Steering } from "./controls/steering.ts";
import { choose, listenTabs } from "./controls/tabs.ts";
import { Cutaway } from "../../instrument/cutaway.ts";
import type { Face } from "../../instrument/dials/face.ts";
import { Handouts } from "./handouts.ts";
import { pageLook } from "../../instrument/look.ts";
import { Measure } from "./measure.ts";
import type { Command, Frame, FromServer, Hello, Refusal, Scene } from "../../instrument/messages.ts";
import { element } from "../../instrument/page.ts";
import { Recording } from "./recording.ts";
import { Showing } from "./showing.ts";
import { Line, socketAddress } from "../../instrument/socket.ts";
import { spoken, Stage } from "./stage.ts";
import { lessWholeTurns, received } from "../../instrument/turns.ts";
import { givenCauses } from "./why/causes.ts";
import { WhyPane } from "./why/pane.ts";

const SLOW_EVERY_MS = 250;
const SPOKEN_EVERY_MS = 6000;

const query = new URLSearchParams(location.search);
const bench = query.get("bench") ?? "main";
const causes = givenCauses();
const recording = new Recording();
const stage = new Stage();
const why = new WhyPane(causes, recording);
const showing = new Showing();
const quarter = new demonstrations.Quarter();
const measure = new Measure();

let hello: Hello | null = null;
let previous: Frame | null = null;
let latest: Frame | null = null;
let cameMs = 0;
let gapMs = 33;
let drawnShare = 0;
let slowMs = 0;
let spokenMs = 0;
let saidWords = "";
let drives = false;
let face: Face = { look: pageLook(), letters: new Map(), numbers: true };
const mended = new Set<string>();

const send = (command: Command): void => {
  element("refused").textContent = "";
  if (!line.send(command)) refuse({ where: "bench", wrong: "no connection", right: "wait until it is back" });
};
const cutaway = new Cutaway(element("cutaway"), send, () => drives);
const bank = new Steering("bank", 75, send);
const pitch = new Steering("pitch", 100, send);
const connection = new Connection(bench, send);
const handouts = new Handouts(recording, connection, bench, () => ({ face, causes, ideas: hello?.ideas ?? [] }));

function refuse(refusal: Pick<Refusal, "where" | "wrong" | "right">): void {
  element("refused").textContent = `${refusal.where}: ${refusal.wrong}. ${refusal.right}.`;
}

function greet(message: Hello): void {
  hello = message;
  previous = latest = null;
  recording.begin(message.history.map(lessWholeTurns));
  connection.greet(message);
  stage.fit(message.dials);
  openAddress();
}

/** Opens the state or scene named in the address, the first time only. */
function openAddress(): void {
  const state = query.get("state");
  const scene = query.get("scene");
  if (state) send({ do: "state", text: state });
  else if (scene) send({ do: "scene", id: scene });
  query.delete("state");
  query.delete("scene");
}

function take(frame: Frame): void {
  const nowMs = performance.now();
  gapMs = latest ? Math.min(250, 0.9 * gapMs + 0.1 * (nowMs - cameMs)) : 33;
  cameMs = nowMs;
  previous = latest;
  latest = frame;
  drawnShare = 0;
  face = { ...face, letters: letters(frame.ghosts) };
  recording.add(frame);
  connection.follow(frame);
  if (hello) showing.follow(hello, frame);
  cutaway.show(hello?.scenes.find((scene) => scene.id === frame.scene) ?? null);
  if (frame.driver) quarter.follow(frame, send);
}

function came(message: FromServer): void {
  if (message.kind === "frame") take(received(message));
  else if (message.kind === "hello") greet(message);
  else if (message.kind === "notice") connection.say(message.words);
  else if (hello) refuse(message);
  else turnAway(message);
}

/** A refusal before the greeting is final: there is no such bench, or it has too many pages. */
function turnAway(refusal: Refusal): void {
  connection.turnAway(`${refusal.where}: ${refusal.wrong}. ${refusal.right}.`);
  line.end();
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
  reflect(frame, quarter.isRunning);
  stage.say(frame, face);
  const view = ideaView(frame);
  const { ideas = [], faults = [], scenes = [] } = hello ?? {};
  render(faultList(faults, frame, drives, send), element("fault-list"));
  render(ideaList(ideas, view), element("idea-list"));
  render(ghostLegend(ideas, frame, view, heading), element("ghost-list"));
  render(sceneList(scenes, frame.scene, drives, loadScene), element("scene-list"));
  const watching = frame.viewers === 1 ? "" : `${frame.viewers} pages watching`;
  element("seats").textContent = watching;
  if (nowMs - spokenMs > SPOKEN_EVERY_MS) say(frame, nowMs);
}

function say(frame: Frame, nowMs: number): void {
  spokenMs = nowMs;
  const words = spoken(frame);
  if (words !== saidWords) element("spoken").textContent = words;
  saidWords = words;
}

function draw(): void {
  requestAnimationFrame(draw);
  if (!latest) return;
  const nowMs = performance.now();
  const share = previous ? Math.min(1, (nowMs - cameMs) / gapMs) : 1;
  if (drawnShare === 1) return;
  drawnShare = share;
  const frame = previous ? blend(previous, latest, share) : latest;
  stage.draw(frame, face);
  why.draw(frame, face, nowMs);
  element("clock").textContent = clock(frame.time_s) + (frame.paused ? " stopped" : frame.pace === 1 ? "" : ` ×${frame.pace}`);
  if (nowMs - slowMs > SLOW_EVERY_MS) drawSlow(latest, nowMs);
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
  drawnShare = 0;
  slowMs = 0;
  cutaway.recolour();
}

const withFrame = (deed: (frame: Frame) => void) => (): void => {
  if (latest) deed(latest);
};

const actions: { [name: string]: () => void } = {
  ...handouts.actions(() => latest),
  ...cutaway.actions,
  keys: showKeys,
  take: () => send({ do: "take" }),
  pause: withFrame((frame) => send({ do: "pause", on: !frame.paused })),
  rewind: withFrame((frame) => send({ do: "rewind", to_s: Math.max(0, frame.time_s - 60) })),
  turn: withFrame((frame) => demonstrations.turn(frame, send)),
  tumble: withFrame((frame) => demonstrations.tumble(frame, send)),
  pump: withFrame((frame) => demonstrations.pump(frame, send)),
  quarter: withFrame((frame) => quarter.start(frame, send)),
  level: () => demonstrations.level(send),
  cage: withFrame((frame) => send({ do: "cage", on: !frame.gyro.caged })),
  "bank-left": withFrame((frame) => bank.by(-1, frame)),
  "bank-right": withFrame((frame) => bank.by(1, frame)),
  "pitch-up": withFrame((frame) => pitch.by(1, frame)),
  "pitch-down": withFrame((frame) => pitch.by(-1, frame)),
  "why-cutaway": () => whySide("cutaway"),
  "why-ledger": () => whySide("ledger"),
  numbers: toggleNumbers,
  say: withFrame((frame) => {
    saidWords = "";
    say(frame, performance.now());
  }),
};

document.documentElement.dataset["script"] = "on";
const line = new Line(socketAddress(bench), {
  opened: () => undefined,
  came,
  lost: (nextTryMs) => {
    // Drawing the last frame must not enable the controls again.
    if (latest) latest = { ...latest, driver: false };
    drives = false;
    allow(false);
    connection.loseLine(nextTryMs);
  },
});
theme.listen(redraw);
listen({ send, actions });
listenKeys();
listenTabs();
choose("fly");
whySide("cutaway");
allow(false);
addEventListener("resize", redraw);
requestAnimationFrame(draw);
// For tests: script time per frame, and the last frame drawn.
Object.assign(globalThis, { lubberline: { measure, frame: () => latest } });
