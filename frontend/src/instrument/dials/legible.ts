// Letters on a drawing that shrinks with its page: never under 11 CSS pixels.

export const LEAST_PX = 11;
/** A title that would grow by more than this is left to the caption. */
const MOST_GROWN = 1.15;

/** A size in a drawing's own units, or as large as it has to be; `unit` is how many of them a CSS pixel has. */
export function legible(size: number, unit = 0): number {
  return Math.max(size, LEAST_PX * unit);
}

/** Whether letters of a size have to grow so much that a longer text no longer fits. */
export function isCramped(size: number, unit = 0): boolean {
  return legible(size, unit) > size * MOST_GROWN;
}

/** Follows how many of its own units a drawing has to a CSS pixel; 0 while it is not on the screen. */
export function unitOf(drawing: SVGSVGElement, resized: () => void): () => number {
  let width = 0;
  let height = 0;
  new ResizeObserver((entries) => {
    for (const { contentRect } of entries) ({ width, height } = contentRect);
    resized();
  }).observe(drawing);
  return () => {
    const box = drawing.viewBox.baseVal;
    return width && height ? Math.max(box.width / width, box.height / height) : 0;
  };
}
