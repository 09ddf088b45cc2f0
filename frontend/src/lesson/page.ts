// Shared by the pages of a live lesson: the view that came with the page, and its element.

import { render, type TemplateResult } from "lit-html";

export function firstView<View>(): View | null {
  const text = document.getElementById("view")?.textContent;
  return text ? (JSON.parse(text) as View) : null;
}

export function here(): HTMLElement {
  return document.getElementById("main") as HTMLElement;
}

export function show(words: TemplateResult): void {
  render(words, document.getElementById("view-here") as HTMLElement);
}

export function say(words: string): void {
  const line = document.getElementById("line");
  if (line && line.textContent !== words) line.textContent = words;
}
