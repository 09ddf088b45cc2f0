// Saves drawings of the page: as self-contained SVG, as PNG, as a file.

import { render, svg, type SVGTemplateResult } from "lit-html";

export interface Size {
  readonly width: number;
  readonly height: number;
}

const SCALE = 2;

/** A drawing as a separate element, with its size in its attributes. */
export function standing(drawing: SVGTemplateResult, size: Size): SVGSVGElement {
  const host = document.createElementNS("http://www.w3.org/2000/svg", "svg");
  host.setAttribute("viewBox", `0 0 ${size.width} ${size.height}`);
  host.setAttribute("width", String(size.width));
  host.setAttribute("height", String(size.height));
  render(svg`${drawing}`, host as unknown as HTMLElement);
  return host;
}

export function svgText(drawing: SVGTemplateResult, size: Size): string {
  const text = new XMLSerializer().serializeToString(standing(drawing, size));
  return text.replace(/<!--.*?-->/gs, "");
}

/** A PNG of the drawing, through a data address, as the page may load no other. */
export async function png(drawing: SVGTemplateResult, size: Size): Promise<Blob> {
  const image = new Image(size.width * SCALE, size.height * SCALE);
  image.src = `data:image/svg+xml;charset=utf-8,${encodeURIComponent(svgText(drawing, size))}`;
  await image.decode();
  const canvas = document.createElement("canvas");
  canvas.width = size.width * SCALE;
  canvas.height = size.height * SCALE;
  canvas.getContext("2d")?.drawImage(image, 0, 0, canvas.width, canvas.height);
  return new Promise((done, failed) => {
    canvas.toBlob((blob) => (blob ? done(blob) : failed(new Error("the picture could not be made"))), "image/png");
  });
}

export function download(name: string, content: Blob): void {
  const link = document.createElement("a");
  link.href = URL.createObjectURL(content);
  link.download = name;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 10_000);
}
