// Faults, wrong ideas and scenes, as the server lists them.

import { suctionText } from "../../shared/suction.ts";
import { html, nothing, type TemplateResult } from "lit-html";
import type { FaultKind, Frame, Ghost, Idea, Scene } from "../messages.ts";
import type { Send } from "./demonstrations.ts";

// Without the letters of the card itself.
const LETTERS = "ABCDFGHJKLMPQRTUVXYZ";

/** A letter for each ghost that is on, in the order they were switched on. */
export function letters(ghosts: Ghost[]): Map<string, string> {
  return new Map(ghosts.map((ghost, index) => [ghost.id, LETTERS[index] ?? "?"]));
}

export function faultList(kinds: FaultKind[], frame: Frame, drives: boolean, send: Send): TemplateResult {
  const give = (kind: FaultKind, size: number): void => send({ do: "fault", name: kind.name, size });
  return html`${kinds.map((kind) => {
    const size = frame.faults[kind.name] ?? 0;
    const written = kind.unit === "inHg" ? suctionText(size) : `${size.toFixed(2)} ${kind.unit}`;
    const [name, meaning] = kind.description.split(": ");
    return html`<div class="fault-row"><label><span class="fault-name">${name}</span>
        <input type="range" min="0" max=${kind.greatest_size} step="0.01" .value=${String(size)} ?disabled=${!drives}
          aria-describedby=${`fault-${kind.name}`} aria-valuetext=${written}
          @change=${(event: Event) => give(kind, Number((event.target as HTMLInputElement).value))}></label>
      <output>${size ? written : "healthy"}</output>
      <button type="button" data-fault=${kind.name} ?disabled=${!drives} @click=${() => give(kind, size ? 0 : kind.default_size)}>
        ${size ? "Fix" : "Break"}<span class="unseen"> ${name}</span></button>
      <p class="hint" id=${`fault-${kind.name}`}>${meaning ?? ""}</p></div>`;
  })}`;
}

export interface IdeaView {
  on: ReadonlySet<string>;
  mended: ReadonlySet<string>;
  drives: boolean;
  letters: ReadonlyMap<string, string>;
  mend: (id: string) => void;
  send: Send;
}

export function ideaList(ideas: Idea[], view: IdeaView): TemplateResult {
  return html`${ideas.map((idea) => {
    const on = view.on.has(idea.id);
    return html`<li class=${on ? "on" : ""}>
      <button type="button" class="idea-switch" data-idea=${idea.id} aria-pressed=${String(on)} ?disabled=${!view.drives}
        @click=${() => view.send({ do: "ghost", id: idea.id, on: !on })}>${on ? html`<span class="letter">${view.letters.get(idea.id)}</span> ` : nothing}<q>${idea.statement}</q></button>
      ${mending(idea, view)}</li>`;
  })}`;
}

function mending(idea: Idea, view: IdeaView): TemplateResult {
  const asked = view.mended.has(idea.id);
  return html`<button type="button" class="quiet mend" aria-expanded=${String(asked)} @click=${() => view.mend(idea.id)}>
      ${asked ? "Hide" : "Show what is right"}<span class="unseen"> ${idea.statement}</span></button>
    ${asked ? html`<p class="mending">${idea.mend} <span class="hint">Source: ${idea.source}</span></p>` : nothing}`;
}

/** Legend under the dials: each ghost's letter, idea and reading. */
export function ghostLegend(ideas: Idea[], frame: Frame, view: IdeaView, read: (deg: number) => string): TemplateResult {
  return html`${frame.ghosts.map((ghost) => {
    const idea = ideas.find((one) => one.id === ghost.id);
    return idea
      ? html`<li><span class="letter">${view.letters.get(ghost.id)}</span> <span><q>${idea.statement}</q> expects
          <strong>${read(ghost.indicated_deg)}</strong></span> ${mending(idea, view)}</li>`
      : nothing;
  })}`;
}

/** Unsaved changes of a scene are opened from its editor alone. */
const isListed = ({ id }: Scene): boolean => !id.startsWith("~");

export function sceneList(scenes: Scene[], current: string | null, drives: boolean, load: (scene: Scene) => void): TemplateResult {
  return html`${scenes.filter(isListed).map(
    (scene) => html`<li class=${scene.id === current ? "on" : ""}><button type="button" data-scene=${scene.id} title=${scene.aim}
      ?disabled=${!drives} aria-pressed=${String(scene.id === current)} @click=${() => load(scene)}>
      <strong>${scene.title}</strong> <span class="aim">${scene.aim}</span></button></li>`,
  )}`;
}
