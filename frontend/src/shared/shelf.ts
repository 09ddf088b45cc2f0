// What a page stores on the device under its own name: in the browser's store, one entry each, or in memory.

export class Shelf<Thing> {
  private readonly memory = new Map<string, Thing>();

  private readonly name: string;

  /**
   * @param kind of what is stored.
   * @param whose it is, as parts of a name.
   */
  constructor(kind: string, whose: string[]) {
    this.name = `${[kind, ...whose].map(encodeURIComponent).join("/")}/`;
  }

  /** Whether all of it survives closing the page. */
  get lasts(): boolean {
    return this.memory.size === 0;
  }

  put(key: string, thing: Thing): void {
    try {
      localStorage.setItem(this.name + key, JSON.stringify(thing));
      this.memory.delete(key);
    } catch {
      this.memory.set(key, thing);
    }
  }

  take(key: string): void {
    this.memory.delete(key);
    try {
      localStorage.removeItem(this.name + key);
    } catch {
      // No store: it was in memory.
    }
  }

  all(): Thing[] {
    return [...this.stored(), ...this.memory.values()];
  }

  /** Whether an entry of the browser's store is one of this shelf. */
  holds(entry: string | null): boolean {
    return entry === null || entry.startsWith(this.name);
  }

  private stored(): Thing[] {
    const found: Thing[] = [];
    try {
      for (let place = 0; place < localStorage.length; place += 1) {
        const entry = localStorage.key(place) ?? "";
        if (!entry.startsWith(this.name) || this.memory.has(entry.slice(this.name.length))) continue;
        const text = localStorage.getItem(entry);
        const thing: unknown = text ? read(text) : null;
        if (thing && typeof thing === "object") found.push(thing as Thing);
      }
    } catch {
      // Without a store, only what is in memory.
    }
    return found;
  }
}

function read(text: string): unknown {
  try {
    return JSON.parse(text);
  } catch {
    return null;
  }
}
