// The socket to the bench: opens it, reopens it when it breaks, passes messages on.

import type { Command, FromServer } from "./messages.ts";

const WAITS_MS = [250, 500, 1000, 2000, 4000];
// Frames come at least five times a second; a socket silent for this long is dead.
const SILENT_MS = 5000;

export interface Listener {
  opened: () => void;
  came: (message: FromServer) => void;
  lost: (nextTryMs: number) => void;
}

export class Line {
  private socket: WebSocket | null = null;
  private tries = 0;
  private heardMs = 0;
  private ended = false;

  constructor(
    private readonly address: string,
    private readonly listener: Listener,
  ) {
    setInterval(() => this.watch(), 1000);
    // Try at once when a laptop is opened again.
    addEventListener("online", () => this.open());
    this.open();
  }

  send(command: Command): boolean {
    if (this.socket?.readyState !== WebSocket.OPEN) return false;
    this.socket.send(JSON.stringify(command));
    return true;
  }

  /** Stops trying: the server gave a reason. */
  end(): void {
    this.ended = true;
    this.socket?.close();
  }

  private open(): void {
    if (this.ended) return;
    if (this.socket && this.socket.readyState <= WebSocket.OPEN) return;
    const socket = new WebSocket(this.address);
    this.socket = socket;
    this.heardMs = performance.now();
    socket.onopen = () => this.listener.opened();
    socket.onmessage = (event) => {
      this.heardMs = performance.now();
      this.tries = 0;
      this.listener.came(JSON.parse(event.data as string) as FromServer);
    };
    socket.onclose = () => {
      if (this.socket !== socket) return;
      this.socket = null;
      const waitMs = WAITS_MS[Math.min(this.tries, WAITS_MS.length - 1)] ?? 4000;
      this.tries += 1;
      if (this.ended) return;
      this.listener.lost(waitMs);
      setTimeout(() => this.open(), waitMs * (0.8 + 0.4 * Math.random()));
    };
  }

  private watch(): void {
    if (this.socket?.readyState === WebSocket.OPEN && performance.now() - this.heardMs > SILENT_MS) this.socket.close();
  }
}

export function socketAddress(bench: string): string {
  const scheme = location.protocol === "https:" ? "wss" : "ws";
  return `${scheme}://${location.host}/bench/socket?bench=${encodeURIComponent(bench)}`;
}
