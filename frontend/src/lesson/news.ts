// News of the lesson: over a WebSocket where browser and network allow it, else by polling.

import { ask, outCode, plain } from "../shared/request.ts";

const ASK_EVERY_MS = 2500;
const SILENT_MS = 40_000;
const WAITS_MS = [500, 1000, 2000, 4000, 8000, 15_000];
// The server closes a socket with this code when it has no place for this browser.
const NOT_YOURS = 4403;

/** Sent to the instructor's pages with the view; phones find out by sending. */
interface Contact {
  away: string;
  words: string;
  silent: string[];
  waiting: number;
}

export interface Listener<View> {
  came: (view: View) => void;
  /** Whether the server answers; with a message where it does not. */
  heard: (is: boolean) => void;
  /** The server has no place for this browser, with a code; it may come back, as from the bin. */
  out: (code: string) => void;
  /** Whether the records and the phones can be reached. */
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
    // Look at once when a phone wakes up, the network is back, or the page comes from the browser's history.
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

  /** Reports how many answers wait on this device: now over the socket, else with the next request. */
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
    // None, too, as the answers sent meanwhile each said that they waited.
    socket.onopen = (): void => socket.send(JSON.stringify({ waiting: this.waiting }));
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
      // Only the close code says that there is no place for this browser: the page asks.
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

  /** The page polls while there is no socket; one silent for too long counts as lost. */
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
