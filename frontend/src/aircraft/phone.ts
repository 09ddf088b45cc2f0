// The log's form on a telephone: big keys, time and place filled in, and a queue that outlives a lost network.

interface Waiting {
  sent: string;
  fields: [string, string][];
}

interface Kept {
  id: string;
  time: string;
  words: string;
}

const TRY_AGAIN_MS = 15_000;
const HEADING_DIGITS = 3;
const ORDER = ["indicated", "compass", "suction"];
const form = document.getElementById("log") as HTMLFormElement;
const line = document.getElementById("line") as HTMLElement;
const refused = document.getElementById("refused") as HTMLElement;
const queueName = (): string => `lubberline-log:${form.getAttribute("action")}`;
const PLACE = "lubberline-log:place";
let active = "indicated";
let sending = false;

function field(id: string): HTMLInputElement {
  return document.getElementById(id) as HTMLInputElement;
}

function newId(): string {
  const bytes = crypto.getRandomValues(new Uint8Array(12));
  return [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}

function stored(): Waiting[] {
  try {
    const found: unknown = JSON.parse(localStorage.getItem(queueName()) ?? "[]");
    return Array.isArray(found) ? (found as Waiting[]) : [];
  } catch {
    return [];
  }
}

function store(queue: Waiting[]): void {
  localStorage.setItem(queueName(), JSON.stringify(queue));
  const waiting = document.getElementById("waiting") as HTMLElement;
  waiting.hidden = queue.length === 0;
  const entries = queue.length === 1 ? "1 entry waits" : `${queue.length} entries wait`;
  waiting.textContent = `${entries} on this device until the network is back. Leave this page open.`;
}

function say(words: string): void {
  line.textContent = words;
}

function refuse(where: string, words: string): void {
  const told = document.createElement("p");
  const place = document.createElement("strong");
  place.textContent = where;
  told.append(place, `: ${words}`);
  refused.replaceChildren(told);
  refused.scrollIntoView({ block: "nearest" });
}

/** UTC to the second, as the server reads it. */
function nowUtc(): string {
  return `${new Date().toISOString().slice(0, 19)}Z`;
}

function fieldsNow(): [string, string][] {
  const fields: [string, string][] = [];
  for (const [name, value] of new FormData(form)) {
    if (name === "sent") continue;
    fields.push([name, name === "time" && !value ? nowUtc() : String(value)]);
  }
  return fields;
}

function emptied(): void {
  for (const id of [...ORDER, "time", "run-down", "note", "set-at"]) field(id).value = "";
  refused.replaceChildren();
  show("indicated");
}

function restored(fields: [string, string][]): void {
  for (const [name, value] of fields) {
    const at = form.elements.namedItem(name);
    if (at instanceof HTMLInputElement || at instanceof RadioNodeList) at.value = value;
  }
}

function listed(kept: Kept): void {
  document.getElementById("none-yet")?.remove();
  const row = document.createElement("li");
  row.dataset["entry"] = kept.id;
  const time = document.createElement("span");
  time.textContent = kept.time;
  const words = document.createElement("strong");
  words.textContent = kept.words;
  const undo = document.createElement("button");
  undo.type = "button";
  undo.className = "quiet undo";
  undo.textContent = "Undo";
  row.append(time, " ", words, " ", undo);
  document.getElementById("recent")?.prepend(row);
}

async function post(address: string, fields: [string, string][]): Promise<Response> {
  return fetch(address, {
    method: "POST",
    body: new URLSearchParams(fields),
    headers: { accept: "application/json" },
  });
}

/** Sends what waits, oldest first; what the server would not take comes back into the form. */
async function flush(): Promise<void> {
  if (sending) return;
  sending = true;
  try {
    for (let queue = stored(); queue.length > 0; queue = stored()) {
      const first = queue[0] as Waiting;
      const response = await post(form.action, [...first.fields, ["sent", first.sent]]);
      if (response.status >= 500 || response.status === 429) throw new Error("later");
      store(stored().filter((one) => one.sent !== first.sent));
      const answer = (await response.json()) as { kept?: Kept; error?: { where: string; wrong: string; right: string } };
      if (answer.kept) {
        listed(answer.kept);
        say("Kept.");
      } else if (answer.error) {
        restored(first.fields);
        refuse(answer.error.where, `${answer.error.wrong}; ${answer.error.right}.`);
        say("Not kept.");
      }
    }
  } catch {
    say("Waits on this device.");
  } finally {
    sending = false;
    store(stored());
  }
}

function keep(event: SubmitEvent): void {
  event.preventDefault();
  if (!field("indicated").value.trim()) {
    refuse("heading indicator", "what does it read? 0 to 360.");
    show("indicated");
    return;
  }
  const waiting = { sent: newId(), fields: fieldsNow() };
  store([...stored(), waiting]);
  emptied();
  say("Sending…");
  void flush();
}

async function undo(button: HTMLElement): Promise<void> {
  const row = button.closest("li");
  const entry = row?.dataset["entry"];
  if (!row || !entry) return;
  try {
    const response = await post(form.dataset["undo"] ?? "", [["entry", entry]]);
    if (!response.ok) throw new Error("not undone");
    row.remove();
    say("Taken back.");
  } catch {
    say("Not taken back: no network, or too late.");
  }
}

function show(id: string): void {
  active = id;
  for (const name of ORDER) field(name).classList.toggle("here", name === id);
}

function typed(key: string): void {
  const into = field(active);
  if (key === "back") into.value = into.value.slice(0, -1);
  else if (into.value.length < into.maxLength) into.value += key;
  const full = active !== "suction" && into.value.length === HEADING_DIGITS && !into.value.includes(".");
  const next = ORDER[ORDER.indexOf(active) + 1];
  if (full && key !== "back" && next) show(next);
}

function remember(place: string): void {
  const short = document.getElementById("place-now") as HTMLElement;
  short.textContent = place || "not known";
  if (place) localStorage.setItem(PLACE, place);
}

function written(value: number, positive: string, negative: string): string {
  return `${Math.abs(value).toFixed(3)}${value < 0 ? negative : positive}`;
}

/** A device tells its place to pages of this machine and to secure pages alone. */
function offerPlace(): void {
  const here = document.getElementById("here") as HTMLButtonElement;
  const known = localStorage.getItem(PLACE);
  if (!field("place").value && known) field("place").value = known;
  remember(field("place").value);
  field("place").addEventListener("change", () => remember(field("place").value));
  if (!window.isSecureContext || !("geolocation" in navigator)) return;
  here.hidden = false;
  here.addEventListener("click", () => {
    navigator.geolocation.getCurrentPosition(
      ({ coords }) => {
        field("place").value = `${written(coords.latitude, "N", "S")} ${written(coords.longitude, "E", "W")}`;
        remember(field("place").value);
      },
      () => say("This device does not tell its place."),
      { timeout: 10_000 },
    );
  });
}

export function begin(): void {
  for (const id of ORDER) {
    const into = field(id);
    // The page's own keys are larger than the device's, and leave the form in sight.
    if (matchMedia("(pointer: coarse)").matches) into.inputMode = "none";
    into.addEventListener("focus", () => show(id));
  }
  show("indicated");
  form.noValidate = true;
  form.addEventListener("submit", keep);
  document.querySelector(".pad")?.addEventListener("click", (event) => {
    const key = (event.target as HTMLElement).closest<HTMLElement>("[data-digit]");
    if (key) typed(key.dataset["digit"] ?? "");
  });
  document.getElementById("recent")?.addEventListener("click", (event) => {
    const button = (event.target as HTMLElement).closest<HTMLElement>(".undo");
    if (!button) return;
    event.preventDefault();
    void undo(button);
  });
  field("set-at").addEventListener("input", () => {
    for (const one of form.querySelectorAll<HTMLInputElement>("input[name=set_ago_min]")) one.checked = false;
  });
  offerPlace();
  store(stored());
  addEventListener("online", () => void flush());
  setInterval(() => {
    if (stored().length > 0) void flush();
  }, TRY_AGAIN_MS);
  void flush();
}
