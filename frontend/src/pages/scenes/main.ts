// The list of scenes: what is typed leaves those that have all its words.

import "./style.css";
import { begin } from "../../shared/begin.ts";

begin();
const words = document.getElementById("words") as HTMLInputElement;
const found = document.getElementById("found") as HTMLElement;
const scenes = [...document.querySelectorAll<HTMLElement>("#scenes > li")].map((item) => ({
  item,
  text: `${item.textContent ?? ""} ${item.dataset["words"] ?? ""}`.toLowerCase(),
}));

function find(): void {
  const wanted = words.value.toLowerCase().split(/\s+/).filter(Boolean);
  for (const { item, text } of scenes) item.hidden = !wanted.every((word) => text.includes(word));
  const left = scenes.filter(({ item }) => !item.hidden).length;
  found.textContent = wanted.length ? `${left} of ${scenes.length} scenes` : `${scenes.length} scenes`;
}

words.addEventListener("input", find);
// A browser that comes back to the page has the words still.
find();
