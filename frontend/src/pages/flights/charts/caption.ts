// The line above a chart: title, legend, and the numbers of the moment.

import type { Design, Line } from "./design.ts";

const SVG = "http://www.w3.org/2000/svg";

function sample(line: Line): SVGElement {
  const svg = document.createElementNS(SVG, "svg");
  svg.setAttribute("width", "26");
  svg.setAttribute("height", "10");
  svg.setAttribute("aria-hidden", "true");
  const stroke = document.createElementNS(SVG, "line");
  const place = { x1: "0", x2: "26", y1: "5", y2: "5", "stroke-width": String(line.width) };
  for (const [name, value] of Object.entries(place)) stroke.setAttribute(name, value);
  stroke.setAttribute("class", `line-${line.colour}`);
  if (line.dash) stroke.setAttribute("stroke-dasharray", line.dash.join(" "));
  svg.append(stroke);
  return svg;
}

export function caption(design: Design): HTMLElement {
  const element = document.createElement("figcaption");
  const title = document.createElement("h2");
  title.textContent = design.title;
  element.append(title);
  for (const { words, line } of design.key) {
    const item = document.createElement("span");
    item.className = "key";
    item.append(sample(line), words);
    element.append(item);
  }
  const cut = document.createElement("span");
  cut.className = "cut";
  const numbers = document.createElement("p");
  numbers.className = "numbers";
  element.append(cut, numbers);
  return element;
}
