// The whole drawing as a tree of groups: Earth, aircraft, outer gimbal, inner gimbal, rotor; built once.

import { Group, Matrix4, Scene } from "three";
import baked from "virtual:openness";
import { makeMarks, type Marks } from "../air.ts";
import { type Arrows, makeArrows } from "../arrows.ts";
import { type Card, makeCard } from "./card.ts";
import { makeCagingFork, makeCagingLink } from "./caging.ts";
import { type Case, makeCase } from "./case.ts";
import { type Equipment, makeEquipment } from "./equipment.ts";
import { createFinish, type Finish } from "../shapes/finish.ts";
import { makeFront } from "./front.ts";
import { makeCardGear, makeGimbalGear } from "./gears.ts";
import { makeGimbal, type VerticalGimbal } from "./gimbal.ts";
import { Named } from "./named.ts";
import { type Hose, makeHose, makeHoseEnds, type Stretch, STRETCHES } from "./hoses.ts";
import { makeHousing } from "./housing.ts";
import { makeKnob } from "./knob.ts";
import { readOpenness } from "./openness.ts";
import { makeNozzles, type Nozzles } from "./nozzles.ts";
import { makeRose, type Rose } from "./rose.ts";
import { Sight } from "./sight.ts";
import { makeRotor, type Rotor } from "./rotor.ts";

export interface Model {
  scene: Scene;
  finish: Finish;
  /** North, east, down. */
  level: Group;
  /** Forward, right, down. */
  body: Group;
  rose: Rose;
  front: Group;
  card: Card;
  cardGear: Group;
  knob: Group;
  link: Group;
  case: Case;
  outer: Group;
  gimbal: VerticalGimbal;
  gimbalGear: Group;
  fork: Group;
  nozzles: Nozzles;
  /** Lifted when taken apart; the groups inside tilt. */
  housingLift: Group;
  housingTilt: Group;
  rotorLift: Group;
  rotorTilt: Group;
  rotor: Rotor;
  arrows: Arrows;
  air: Group;
  equipment: Equipment;
  hoses: Record<Stretch, Hose>;
  marks: Partial<Record<Stretch, Marks>>;
  named: Named;
  sight: Sight;
  dispose: () => void;
}

/** North is away from the viewer, east on the right, down is down. */
const LEVEL = new Matrix4().set(0, 1, 0, 0, 0, 0, -1, 0, -1, 0, 0, 0, 0, 0, 0, 1);

function makeHoses(finish: Finish): Pick<Model, "hoses" | "marks"> {
  const hoses = {} as Record<Stretch, Hose>;
  const marks: Partial<Record<Stretch, Marks>> = {};
  for (const stretch of STRETCHES) {
    hoses[stretch] = makeHose(stretch, finish);
    if (stretch !== "sensed") marks[stretch] = makeMarks(hoses[stretch], stretch === "inside" ? 1.9 : 2.9, finish);
  }
  return { hoses, marks };
}

const SEGMENTS = 80;

export function buildModel(): Model {
  const segments = SEGMENTS;
  const finish = createFinish();
  const model: Omit<Model, "named" | "sight"> = {
    scene: new Scene(),
    finish,
    level: new Group(),
    body: new Group(),
    rose: makeRose(),
    front: makeFront(finish, segments),
    card: makeCard(finish, segments),
    cardGear: makeCardGear(finish, segments),
    knob: makeKnob(finish),
    link: makeCagingLink(finish, segments),
    case: makeCase(finish),
    outer: new Group(),
    gimbal: makeGimbal(finish, segments),
    gimbalGear: makeGimbalGear(finish, segments),
    fork: makeCagingFork(finish),
    nozzles: makeNozzles(finish),
    housingLift: new Group(),
    housingTilt: makeHousing(finish, segments),
    rotorLift: new Group(),
    rotorTilt: new Group(),
    rotor: makeRotor(finish, segments),
    arrows: makeArrows(finish),
    air: new Group(),
    equipment: makeEquipment(finish),
    ...makeHoses(finish),
    dispose: () => undefined,
  };
  join(model);
  const named = new Named(model.body, finish);
  // Nothing is baked yet while it is worked out.
  if (baked) readOpenness(model.body, baked);
  const whole = { ...model, named, sight: new Sight(model.body) };
  whole.dispose = () => disposeOf(whole);
  return whole;
}

function join(model: Omit<Model, "named" | "sight">): void {
  const { level, body, outer, air, hoses, finish } = model;
  level.applyMatrix4(LEVEL);
  model.scene.add(level);
  level.add(model.rose.group, body);
  for (const stretch of STRETCHES) {
    (stretch === "inside" ? model.case.group : air).add(hoses[stretch].mesh);
    const marks = model.marks[stretch];
    if (marks) (stretch === "inside" ? model.case.group : air).add(marks.mesh);
  }
  air.add(model.equipment.group, makeHoseEnds(finish, hoses));
  body.add(model.front, model.card.group, model.cardGear, model.knob, model.link, air, outer);
  body.add(model.case.group, model.case.bearings, model.arrows.finger);
  model.housingLift.add(model.housingTilt);
  model.rotorTilt.add(model.rotor.group, model.arrows.spin);
  model.rotorLift.add(model.rotorTilt, model.arrows.turning);
  outer.add(model.gimbal.ring, model.gimbal.stops, model.gimbalGear, model.fork, model.nozzles.group);
  outer.add(model.housingLift, model.rotorLift);
}

function disposeOf(model: Model): void {
  model.scene.traverse((one) => {
    const drawn = one as { geometry?: { dispose: () => void } };
    drawn.geometry?.dispose();
  });
  model.card.texture.dispose();
  model.equipment.texture.dispose();
  model.rose.dispose();
  model.finish.dispose();
}
