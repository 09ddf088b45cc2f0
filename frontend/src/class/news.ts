// What is new in the class: over a line where the browser and the network have one, by asking where not.

const ASK_EVERY_MS = 2500;
const SILENT_MS = 40_000;
const WAITS_MS = [500, 1000, 2000, 4000, 8000, 15_000];
const PATIENCE_MS = 8000;
// The server's word for: there is nothing here for this browser.
const NOT_YOURS = 4403;

export interface Listener<View> {
  came: (view: View) => void;
  /** Whether the server is heard; with words for the person where it is not. */
  heard: (is: boolean) => void;
  /** This browser has no place here. */
  out: () => void;
}

/** A request that is given up after a while: a phone's network may swallow one without a word. */
export async function ask(path: string, options: RequestInit = {}): Promise<Response> {
  const patience = new AbortController();
  const timer = window.setTimeout(() => patience.abort(), PATIENCE_MS);
  try {
    return await fetch(path, { credentials: "same-origin", signal: patience.signal, ...options });
  } finally {
    clearTimeout(timer);
  }
}

export class News<View> {
  private socket: WebSocket | null = null;
  private tries = 0;
  private heardMs = 0;
  private asking = false;
  private ended = false;

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

  private open(): void {
    if (this.ended || this.socket || typeof WebSocket === "undefined") return;
    const scheme = location.protocol === "https:" ? "wss" : "ws";
    let socket: WebSocket;
    try {
      socket = new WebSocket(`${scheme}://${location.host}${this.path}/line`);
    } catch {
      return;
    }
    this.socket = socket;
    this.heardMs = Date.now();
    socket.onmessage = (event): void => {
      this.tries = 0;
      this.heardMs = Date.now();
      const view = JSON.parse(event.data as string) as View & { seen?: unknown; projector?: unknown };
      this.listener.heard(true);
      if (view.seen || view.projector) this.listener.came(view);
    };
    socket.onclose = (event): void => {
      if (this.socket !== socket) return;
      this.socket = null;
      if (event.code === NOT_YOURS) this.end();
      else this.later();
    };
  }

  private later(): void {
    const waitMs = WAITS_MS[Math.min(this.tries, WAITS_MS.length - 1)] ?? 15_000;
    this.tries += 1;
    window.setTimeout(() => this.open(), waitMs * (0.7 + 0.6 * Math.random()));
    void this.ask();
  }

  private end(): void {
    if (this.ended) return;
    this.ended = true;
    this.listener.out();
  }

  /** While there is no line the page asks; a line that has been silent for long is none. */
  private watch(): void {
    if (this.ended || document.visibilityState === "hidden") return;
    if (this.socket && Date.now() - this.heardMs > SILENT_MS) this.socket.close();
    if (this.socket?.readyState !== 1) void this.ask();
  }

  private async ask(): Promise<void> {
    if (this.asking || this.ended) return;
    this.asking = true;
    try {
      const response = await ask(`${this.path}/state`);
      if (response.status === 401 || response.status === 404) this.end();
      else if (response.ok) {
        const view = (await response.json()) as View;
        this.listener.heard(true);
        this.listener.came(view);
      } else this.listener.heard(false);
    } catch {
      this.listener.heard(false);
    } finally {
      this.asking = false;
    }
  }
}
