// The form: its values, its fault rows, and when it has changed.

import type { Asked } from "./reply.ts";

const form = document.getElementById("ask") as HTMLFormElement;

function text(name: string): string {
  const field = form.elements.namedItem(name);
  return field instanceof HTMLInputElement || field instanceof HTMLSelectElement ? field.value.trim() : "";
}

function rows(): HTMLElement[] {
  return [...form.querySelectorAll<HTMLElement>(".fault")];
}

function parts(row: HTMLElement): { name: HTMLSelectElement; size: HTMLInputElement; atMin: HTMLInputElement } {
  return {
    name: row.querySelector("[name=fault_name]") as HTMLSelectElement,
    size: row.querySelector("[name=fault_size]") as HTMLInputElement,
    atMin: row.querySelector("[name=fault_at_min]") as HTMLInputElement,
  };
}

function faults(): string[] {
  return rows().flatMap((row) => {
    const { name, size, atMin } = parts(row);
    return name.value ? [name.value + (size.value ? `=${size.value}` : "") + `@${atMin.value || "0"}`] : [];
  });
}

export function asked(): Asked {
  const every = text("set_every_min");
  return {
    flight: text("flight"),
    aircraft: text("aircraft"),
    set_every_min: every ? Number(every) : null,
    set_from: text("set_from") as Asked["set_from"],
    true_reference: text("reference") === "true",
    wind: text("wind"),
    faults: faults(),
    believe: text("believe") ? [text("believe")] : [],
    seed: Number(text("seed")) || 0,
  };
}

/** Fields of a row follow its fault: default size, what the size means; a spare row is always there. */
function tend(): void {
  for (const row of rows()) {
    const { name, size, atMin } = parts(row);
    const option = name.selectedOptions[0];
    const means = option?.dataset["means"] ?? "";
    size.placeholder = option?.dataset["size"] ?? "";
    size.max = option?.dataset["greatest"] ?? "";
    atMin.placeholder = name.value ? "0" : "";
    (row.querySelector(".hint") as HTMLElement).textContent = means.replace(/^[^:]*:\s*/, "");
    row.classList.toggle("idle", !name.value);
  }
  const set = ["set_every_min", "set_from", "wind", "believe"].filter(text).length + Number(text("reference") === "true") + faults().length;
  (document.getElementById("set-many") as HTMLElement).textContent = set ? `: ${set} set` : "";
  const all = rows();
  const spare = all.filter((row) => !parts(row).name.value);
  const last = all[all.length - 1];
  if (spare.length === 0 && last && all.length < 6) last.after(emptied(last, all.length + 1));
  for (const extra of spare.slice(0, -1)) extra.remove();
}

function emptied(row: HTMLElement, number: number): HTMLElement {
  const copy = row.cloneNode(true) as HTMLElement;
  const { name, size, atMin } = parts(copy);
  name.value = "";
  size.value = "";
  atMin.value = "";
  name.setAttribute("aria-label", `Fault ${number}`);
  return copy;
}

/** Adds a given file to the list of flights and chooses it. */
export function choose(flight: string, name: string): void {
  const select = form.elements.namedItem("flight") as HTMLSelectElement;
  if (![...select.options].some((option) => option.value === flight)) {
    select.add(new Option(`${name} (your file)`, flight));
  }
  select.value = flight;
}

export function listen(changed: () => void): void {
  tend();
  // The ledger has the room.
  (document.getElementById("more") as HTMLDetailsElement).open = false;
  form.addEventListener("change", (event) => {
    if ((event.target as HTMLElement).id === "file") return;
    tend();
    changed();
  });
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    changed();
  });
}
