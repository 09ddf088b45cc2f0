// Answers on their way: kept in the browser until the server says that it has them, and sent again until then.

import { ask } from "./news.ts";

const WAITS_MS = [500, 1000, 2000, 4000, 8000];

export interface Sending {
  key: string;
  /** This sending's own id: the server takes it once, however often it comes. */
  sent: string;
  chosen?: number;
  value?: number;
  seconds: number;
}

export interface Outcome {
  kept: (sending: Sending) => void;
  refused: (sending: Sending, words: string) => void;
  /** This browser has no place here any more. */
  out: () => void;
  /** Whether an answer cannot be sent at the moment. */
  stuck: (is: boolean) => void;
}

export function freshId(): string {
  const bytes = crypto.getRandomValues(new Uint8Array(12));
  return Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
}

export class Queue {
  private tries = 0;
  private busy = false;
  private waiting: Sending[];

  constructor(
    private readonly address: string,
    private readonly shelf: string,
    private readonly outcome: Outcome,
  ) {
    this.waiting = this.read();
    addEventListener("online", () => void this.flush());
    document.addEventListener("visibilitychange", () => void this.flush());
    void this.flush();
  }

  /** The newest answer to a question takes the place of one that waits. */
  put(sending: Sending): void {
    this.waiting = [...this.waiting.filter((one) => one.key !== sending.key), sending];
    this.write();
    void this.flush();
  }

  of(key: string): Sending | undefined {
    return this.waiting.find((one) => one.key === key);
  }

  clear(): void {
    this.waiting = [];
    this.write();
  }

  private async flush(): Promise<void> {
    const next = this.waiting[0];
    if (this.busy || !next) return;
    this.busy = true;
    const told = await this.send(next);
    this.busy = false;
    if (told) {
      this.tries = 0;
      this.waiting = this.waiting.filter((one) => one.sent !== next.sent);
      this.write();
      this.outcome.stuck(false);
      told();
      void this.flush();
      return;
    }
    this.outcome.stuck(true);
    const waitMs = WAITS_MS[Math.min(this.tries, WAITS_MS.length - 1)] ?? 8000;
    this.tries += 1;
    window.setTimeout(() => void this.flush(), waitMs * (0.7 + 0.6 * Math.random()));
  }

  /** What to tell when this sending is over, kept or refused for good; null: to be sent again. */
  private async send(sending: Sending): Promise<(() => void) | null> {
    try {
      const headers = { "content-type": "application/json" };
      const response = await ask(this.address, { method: "POST", headers, body: JSON.stringify(sending) });
      if (response.ok) {
        await response.json();
        return () => this.outcome.kept(sending);
      }
      if (response.status === 401 || response.status === 404) return () => this.outcome.out();
      if (response.status >= 500 || response.status === 429) return null;
      const { error } = (await response.json()) as { error: { wrong: string; right: string } };
      return () => this.outcome.refused(sending, `${error.wrong}; ${error.right}`);
    } catch {
      return null;
    }
  }

  private read(): Sending[] {
    try {
      return JSON.parse(localStorage.getItem(this.shelf) ?? "[]") as Sending[];
    } catch {
      return [];
    }
  }

  private write(): void {
    try {
      if (this.waiting.length) localStorage.setItem(this.shelf, JSON.stringify(this.waiting));
      else localStorage.removeItem(this.shelf);
    } catch {
      // A browser that keeps nothing still sends from memory.
    }
  }
}
