// The list of scenes: what is typed leaves those that have all its words.

import "./style.css";
import { begin } from "../../shared/begin.ts";

begin();
const words = document.getElementById("words") as HTMLInputElement;
const found = document.getElementById("found") as HTMLElement;
// Words by their beginnings: 'nut' is not in 'minutes'.
const plain = (text: string): string => ` ${text.toLowerCase().replace(/[^a-z0-9]+/g, " ")}`;
const scenes = [...document.querySelectorAll<HTMLElement>("#scenes > li")].map((item) => ({
  item,
  text: plain(`${item.textContent ?? ""} ${item.dataset["words"] ?? ""}`),
}));

function find(): void {
  const wanted = plain(words.value).split(" ").filter(Boolean);
  for (const { item, text } of scenes) item.hidden = !wanted.every((word) => text.includes(` ${word}`));
  const left = scenes.filter(({ item }) => !item.hidden).length;
  found.textContent = wanted.length ? `${left} of ${scenes.length} scenes` : `${scenes.length} scenes`;
}

words.addEventListener("input", find);
// A browser that comes back to the page has the words still.
find();
