// What is new in the class: over a line where the browser and the network have one, by asking where not.

import { ask, outCode, plain } from "../shared/request.ts";

const ASK_EVERY_MS = 2500;
const SILENT_MS = 40_000;
const WAITS_MS = [500, 1000, 2000, 4000, 8000, 15_000];
// The server's word for: there is nothing here for this browser.
const NOT_YOURS = 4403;

/** What the pages of instructors are told beside the view; phones find out by sending. */
interface Contact {
  away: string;
  words: string;
  silent: string[];
  waiting: number;
}

export interface Listener<View> {
  came: (view: View) => void;
  /** Whether the server is heard; with words for the person where it is not. */
  heard: (is: boolean) => void;
  /** There is nothing here for this browser, by a code; it may come back, as what is in the bin does. */
  out: (code: string) => void;
  /** Which records and phones can be reached. */
  contact?: (contact: Contact) => void;
  /** The server's time. */
  time?: (ms: number) => void;
}

interface Told {
  seen?: unknown;
  projector?: unknown;
  contact?: Contact;
  now_ms?: number;
  error?: { code: string; wrong: string };
}

export class News<View> {
  private socket: WebSocket | null = null;
  private tries = 0;
  private heardMs = 0;
  private asking = false;
  private waiting = 0;

  constructor(
    private readonly path: string,
    private readonly listener: Listener<View>,
  ) {
    window.setInterval(() => this.watch(), ASK_EVERY_MS);
    // A phone that wakes up, a network that is back, a page out of the browser's history: look at once.
    const look = (): void => {
      if (document.visibilityState !== "hidden") this.look();
    };
    document.addEventListener("visibilitychange", look);
    addEventListener("pageshow", (event) => {
      if (event.persisted) look();
    });
    addEventListener("online", look);
    this.open();
  }

  look(): void {
    void this.ask();
    if (!this.socket) this.open();
  }

  /** How many answers wait on this device: told now where there is a line, else with the next look. */
  wait(count: number): void {
    if (count === this.waiting) return;
    this.waiting = count;
    if (this.socket && this.socket.readyState === 1) this.socket.send(JSON.stringify({ waiting: count }));
  }

  private open(): void {
    if (this.socket || typeof WebSocket === "undefined") return;
    const scheme = location.protocol === "https:" ? "wss" : "ws";
    let socket: WebSocket;
    try {
      socket = new WebSocket(`${scheme}://${location.host}${this.path}/line`);
    } catch {
      return;
    }
    this.socket = socket;
    this.heardMs = Date.now();
    socket.onopen = (): void => {
      if (this.waiting) socket.send(JSON.stringify({ waiting: this.waiting }));
    };
    socket.onmessage = (event): void => {
      this.tries = 0;
      this.heardMs = Date.now();
      const view = JSON.parse(event.data as string) as View & Told;
      if (view.now_ms && this.listener.time) this.listener.time(view.now_ms);
      this.listener.heard(true);
      if (view.contact && this.listener.contact) this.listener.contact(view.contact);
      if (view.seen || view.projector) this.listener.came(view);
    };
    socket.onclose = (event): void => {
      if (this.socket !== socket) return;
      this.socket = null;
      // Whether there is nothing here for this browser is told by its code alone: the page asks.
      if (event.code === NOT_YOURS) this.tries = WAITS_MS.length;
      this.later();
    };
  }

  private later(): void {
    const waitMs = WAITS_MS[Math.min(this.tries, WAITS_MS.length - 1)] ?? 15_000;
    this.tries += 1;
    window.setTimeout(() => this.open(), waitMs * (0.7 + 0.6 * Math.random()));
    void this.ask();
  }

  /** While there is no line the page asks; a line that has been silent for long is none. */
  private watch(): void {
    if (document.visibilityState === "hidden") return;
    if (this.socket && Date.now() - this.heardMs > SILENT_MS) this.socket.close();
    if (this.socket?.readyState !== 1) void this.ask();
  }

  private async ask(): Promise<void> {
    if (this.asking) return;
    this.asking = true;
    try {
      const response = await ask(`${this.path}/state?waiting=${this.waiting}`);
      const told = await plain<View & Told>(response);
      const error = response.ok ? undefined : told?.error;
      if (response.ok && told && (told.seen || told.projector)) {
        if (told.now_ms && this.listener.time) this.listener.time(told.now_ms);
        this.listener.heard(true);
        if (told.contact && this.listener.contact) this.listener.contact(told.contact);
        this.listener.came(told);
      } else if (outCode(told)) this.listener.out(outCode(told));
      else if (error && response.status === 503 && this.listener.contact) {
        this.listener.heard(true);
        this.listener.contact({ away: error.code, words: error.wrong, silent: [], waiting: 0 });
      } else this.listener.heard(false);
    } catch {
      this.listener.heard(false);
    } finally {
      this.asking = false;
    }
  }
}
