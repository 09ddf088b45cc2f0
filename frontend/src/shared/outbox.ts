// Everything a device sends: stored on it and sent again until the server acknowledges it by name.
//
// A sending belongs to the records, the place and the student of its page. Only the server's reply removes it.
// One the server refused because its time is over stays until it has been shown.

import { Clock, type Given } from "./clock.ts";
import { ask, PATIENCE_MS, plain } from "./request.ts";
import { Shelf } from "./shelf.ts";

const FIRST_PAUSE_MS = 500;
const LONGEST_PAUSE_MS = 30_000;
// The codes with which the server refuses a sending for ever. A sitting or a student that is not there is not one of
// them: it may come back from the bin.
const OVER = ["sitting-closed", "handed-in", "time-over", "question-closed"];
// Refused as it is: the person can correct it.
const UNFIT = "input";

export interface What {
  /** The key of the question: a later answer replaces one that was still being typed. */
  key?: string;
  [name: string]: unknown;
}

export type Fate = "waiting" | "late" | "not taken" | "unfit";

export interface Sending {
  sent: string;
  order: number;
  what: What;
  /** In the person's own words, for showing. */
  words: string;
  given: Given | null;
  /** It was sent at least once and may have arrived, so it must be settled before another is sent. */
  tried: boolean;
  fate: Fate;
  /** Why it was not accepted, in the server's words. */
  why: string;
  where: string;
}

export interface Listener {
  /** What the page is called in a sentence. */
  name: "paper" | "lesson" | "log";
  /** What waits, or is to be shown, has changed. */
  changed: () => void;
  /** The server has saved it. */
  saved: (sending: Sending, kept: Record<string, unknown>) => void;
  /** Whether the server answered the last try. */
  heard?: (is: boolean) => void;
}

interface Reply {
  kept?: { sent?: string };
  late?: { sent?: string };
  error?: { sent?: string; code?: string; where?: string; wrong?: string; right?: string };
  now_ms?: number;
}

function freshId(): string {
  const bytes = crypto.getRandomValues(new Uint8Array(12));
  return Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
}

export class Outbox {
  readonly clock = new Clock();
  private readonly whose: { records: string; place: string; holder: string };
  private readonly shelf: Shelf<Sending>;
  private readonly notBefore = new Map<string, number>();
  // Refused as they are: not sent again until the page is reloaded.
  private readonly resting = new Set<string>();
  /** The server's code for why it accepts nothing that waits; '' where it does, or did not answer. */
  blocked = "";
  isLeaving = false;
  private tries = 0;
  private busy = false;
  private timer = 0;

  /**
   * @param address where sendings go.
   * @param page the element that says for whom this page sends.
   */
  constructor(
    private readonly address: string,
    page: HTMLElement,
    readonly listener: Listener,
  ) {
    const { records = "", place = "", holder = "", nowMs } = page.dataset;
    this.whose = { records, place, holder };
    this.clock.hear(Number(nowMs));
    this.shelf = new Shelf("outbox", [records, place, holder]);
    // The network is back, the page comes from the browser's history, a phone wakes up or goes to sleep.
    addEventListener("online", () => this.hurry());
    addEventListener("pageshow", () => this.hurry());
    addEventListener("pagehide", () => this.hurry());
    document.addEventListener("visibilitychange", () => this.hurry());
    // Another tab of this browser has changed the shelf.
    addEventListener("storage", (event) => {
      if (!this.shelf.holds(event.key)) return;
      this.listener.changed();
      this.later(FIRST_PAUSE_MS);
    });
    addEventListener("beforeunload", (event) => {
      if (this.lasts || !this.waiting.length) return;
      event.preventDefault();
      event.returnValue = "";
    });
    for (const one of this.all()) if (one.fate === "unfit") this.save({ ...one, fate: "waiting" });
    void this.flush();
  }

  /** How many are to be sent, without those refused as they are. */
  get open(): number {
    return this.waiting.filter((one) => one.fate === "waiting").length;
  }

  /** What the server does not have yet, oldest first. */
  get waiting(): Sending[] {
    return this.all().filter((one) => one.fate === "waiting" || one.fate === "unfit");
  }

  /** What came late or was not accepted: the last of each question. */
  get told(): Sending[] {
    const told = this.all().filter((one) => one.fate === "late" || one.fate === "not taken");
    return told.filter((one, place) => !one.what.key || !told.slice(place + 1).some((other) => other.what.key === one.what.key));
  }

  /** Whether what waits survives closing this page. */
  get lasts(): boolean {
    return this.shelf.lasts;
  }

  of(key: string): Sending | undefined {
    return this.waiting.filter((one) => one.what.key === key).pop();
  }

  /** Stores something and sends it: at once, or when nothing newer has come for a while. */
  put(what: What, words: string, restMs = 0, sent = freshId()): void {
    const all = this.all();
    const order = 1 + Math.max(Date.now(), ...all.map((one) => one.order));
    this.shelf.put(sent, { sent, order, what, words, given: this.clock.now(), tried: false, fate: "waiting", why: "", where: "" });
    for (const one of all) {
      const isOlder = what.key !== undefined && one.what.key === what.key;
      // A finished answer is sent even if it was changed since; an unfinished one is replaced.
      const isTyped = (this.notBefore.get(one.sent) ?? 0) > performance.now();
      if (isOlder && (one.fate !== "waiting" || isTyped)) this.shelf.take(one.sent);
    }
    if (restMs) this.notBefore.set(sent, performance.now() + restMs);
    this.listener.changed();
    this.later(restMs);
  }

  /** Removes what the person has seen, or has given in another way. */
  drop(sent: string): void {
    this.shelf.take(sent);
    this.listener.changed();
  }

  /** Sends what waits at once; a try that is on its way, and fails, is followed by another soon. */
  hurry(): void {
    this.notBefore.clear();
    this.tries = 0;
    void this.flush();
  }

  /** The person wants to leave the page while something waits. */
  leave(): void {
    this.isLeaving = true;
    this.hurry();
    this.listener.changed();
  }

  /** Sends another request of the same form without storing it; null where the server did not answer. */
  async act(address: string): Promise<Reply | null> {
    const body = { sent: freshId(), for: this.whose };
    return (await this.post(address, body))?.reply ?? null;
  }

  private all(): Sending[] {
    return this.shelf.all().sort((one, other) => one.order - other.order || (one.sent < other.sent ? -1 : 1));
  }

  private save(sending: Sending): void {
    this.shelf.put(sending.sent, sending);
  }

  private later(pauseMs: number): void {
    clearTimeout(this.timer);
    this.timer = window.setTimeout(() => void this.flush(), pauseMs);
  }

  private next(): Sending | undefined {
    return this.waiting.find((one) => !this.resting.has(one.sent));
  }

  /** One at a time and in order, so that the last answer given is the last one saved. */
  private async flush(): Promise<void> {
    if (this.busy) return;
    this.busy = true;
    clearTimeout(this.timer);
    let pauseMs = 0;
    try {
      for (let next = this.next(); next && pauseMs === 0; next = this.next()) {
        const restMs = (this.notBefore.get(next.sent) ?? 0) - performance.now();
        pauseMs = restMs > 0 ? restMs : await this.deliver(next);
      }
    } finally {
      this.busy = false;
    }
    if (pauseMs) this.later(pauseMs);
  }

  /** Sends one; returns the pause before the next try, 0 once it is settled. */
  private async deliver(sending: Sending): Promise<number> {
    this.save({ ...sending, tried: true });
    const body = { ...sending.what, sent: sending.sent, for: this.whose, given: sending.given };
    const heard = await this.post(this.address, body);
    const told = heard && this.settle(sending, heard.reply);
    if (told) this.blocked = "";
    this.listener.heard?.(heard !== null);
    this.listener.changed();
    if (told) {
      this.tries = 0;
      return 0;
    }
    const growingMs = Math.min(LONGEST_PAUSE_MS, FIRST_PAUSE_MS * 2 ** this.tries);
    this.tries += 1;
    return Math.min(LONGEST_PAUSE_MS, Math.max(growingMs, heard?.askedMs ?? 0)) * (0.7 + 0.6 * Math.random());
  }

  private async post(address: string, body: object): Promise<{ reply: Reply; askedMs: number } | null> {
    const headers = { "content-type": "application/json" };
    try {
      // A slow server gets more time at each try.
      const patienceMs = PATIENCE_MS + Math.min(this.tries, 6) * 4000;
      const response = await ask(`${address}?waiting=${this.open}`, { method: "POST", headers, body: JSON.stringify(body), keepalive: true }, patienceMs);
      const reply = await plain<Reply>(response);
      if (!reply || !(reply.kept || reply.late || reply.error)) return null;
      this.clock.hear(reply.now_ms);
      return { reply, askedMs: 1000 * (Number(response.headers.get("retry-after")) || 0) };
    } catch {
      return null;
    }
  }

  /** Acts on the server's reply to a sending; false where it does not settle this one. */
  private settle(sending: Sending, reply: Reply): boolean {
    const { kept, late, error } = reply;
    if (kept?.sent === sending.sent) {
      this.shelf.take(sending.sent);
      for (const one of this.all()) {
        // Notes about an earlier answer to the question no longer apply.
        if (sending.what.key && one.what.key === sending.what.key && one.fate !== "waiting") this.shelf.take(one.sent);
      }
      this.listener.saved(sending, kept as Record<string, unknown>);
      return true;
    }
    if (late?.sent === sending.sent) {
      this.save({ ...sending, tried: true, fate: "late" });
      return true;
    }
    this.blocked = error?.sent === sending.sent ? (error.code ?? "") : "";
    if (error?.sent !== sending.sent || !error.code) return false;
    const why = `${error.wrong ?? ""}; ${error.right ?? ""}`;
    if (error.code === UNFIT) this.resting.add(sending.sent);
    else if (!OVER.includes(error.code)) return false;
    const fate = error.code === UNFIT ? "unfit" : "not taken";
    this.save({ ...sending, tried: true, fate, why, where: error.where ?? "" });
    return true;
  }
}

/** Why the server has no place for a page, and what to do; null for any other code. */
function outside(code: string, name: Listener["name"]): [why: string, right: string] | null {
  if (code === "no-sitting") return [`The server no longer has this ${name}`, "ask the instructor"];
  if (code === "other-records") return ["This server has other records", "connect to the server you started on"];
  if (code !== "no-place") return null;
  return name === "log" ? ["The code of this page is no longer valid", "scan the new code"] : [`This device is not in this ${name} at the moment`, "ask the instructor"];
}

/** The message of a page without a place, when nothing waits; '' for any other code. */
export function outsideWords(code: string, name: Listener["name"]): string {
  const words = outside(code, name);
  return words ? `${words.join("; ")}.` : "";
}

/** The message about what waits, in the same words everywhere; '' where nothing does. */
export function state(outbox: Outbox): string {
  const count = outbox.open;
  if (!count) return "";
  const [why, right] = outside(outbox.blocked, outbox.listener.name) ?? ["", ""];
  const stay = count === 1 ? "It stays" : "They stay";
  const then = outbox.lasts
    ? why
      ? `${why}. ${stay} on this device; ${right}.`
      : `${stay} on this device and ${count === 1 ? "is" : "are"} sent when the connection is back.`
    : "This browser has no storage: closing this page loses it.";
  const leaving = "Wait until it is sent. If you press again, it stays on this device and is sent only when you open your page here again.";
  return `Not sent yet (${count}). ${outbox.isLeaving ? leaving : then}`;
}

/** What was not accepted or came late, listed until the person removes it. */
export function list(outbox: Outbox, place: HTMLElement, fates: Fate[] = ["late", "not taken"]): void {
  const told = outbox.told.filter((one) => fates.includes(one.fate));
  place.hidden = told.length === 0;
  place.replaceChildren(
    ...told.map((one) => {
      const line = document.createElement("p");
      line.dataset["state"] = one.fate;
      const words = document.createElement("strong");
      words.textContent = one.words;
      const why = one.fate === "late" ? "came late; the instructor will decide." : `was not accepted: ${one.why}.`;
      const seen = document.createElement("button");
      seen.type = "button";
      seen.className = "quiet";
      seen.textContent = "Remove this note";
      seen.addEventListener("click", () => outbox.drop(one.sent));
      line.append(words, ` ${why} `, seen);
      return line;
    }),
  );
}

/** Leaving with something unsent needs a second press; it stays on the device for that person. */
export function guardLeaving(form: HTMLFormElement | null, outbox: Outbox): void {
  form?.addEventListener("submit", (event) => {
    if (outbox.isLeaving || !outbox.waiting.length) return;
    event.preventDefault();
    outbox.leave();
  });
}
