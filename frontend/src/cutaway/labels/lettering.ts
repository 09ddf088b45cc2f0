// Draws placed labels and the scale of air pressure over the picture, upright and with a halo.

import { type Placed, type Sheet } from "./layout.ts";
import { pressureColour, SCALE_END_INHG, type Scheme } from "../shapes/palette.ts";

const FACE = 'system-ui, -apple-system, "Segoe UI", Roboto, "Noto Sans", "Liberation Sans", sans-serif';

export function sheetFor(pen: CanvasRenderingContext2D, width: number, height: number, letter: number): Sheet {
  pen.font = `600 ${letter}px ${FACE}`;
  return { width, height, letter, measure: (text) => pen.measureText(text).width };
}

function leader(pen: CanvasRenderingContext2D, one: Placed, sheet: Sheet): void {
  if (!one.to) return;
  const gap = sheet.letter * 0.3;
  pen.beginPath();
  if (one.align === "center") pen.moveTo(one.x, one.y + Math.sign(one.to.y - one.y) * sheet.letter * 0.7);
  else pen.moveTo(one.align === "right" ? one.x + gap : one.x - gap, one.y);
  pen.lineTo(one.to.x, one.to.y);
  pen.stroke();
  pen.beginPath();
  pen.arc(one.to.x, one.to.y, sheet.letter * 0.17, 0, 2 * Math.PI);
  pen.fill();
}

export function write(pen: CanvasRenderingContext2D, placed: readonly Placed[], sheet: Sheet, scheme: Scheme): void {
  pen.lineJoin = "round";
  for (const [width, colour] of [
    [sheet.letter * 0.2, scheme.halo],
    [sheet.letter * 0.07, scheme.ink],
  ] as const) {
    pen.lineWidth = width;
    pen.strokeStyle = pen.fillStyle = colour;
    for (const one of placed) leader(pen, one, sheet);
  }
  pen.textBaseline = "middle";
  pen.lineWidth = sheet.letter * 0.28;
  pen.strokeStyle = scheme.halo;
  for (const one of placed) {
    pen.textAlign = one.align;
    pen.strokeText(one.text, one.x, one.y);
    pen.fillStyle = one.colour;
    pen.fillText(one.text, one.x, one.y);
  }
}

/** The scale of colours at the foot of the picture. */
export function writeScale(pen: CanvasRenderingContext2D, sheet: Sheet, scheme: Scheme): void {
  const { letter } = sheet;
  const wide = Math.min(sheet.width * 0.5, letter * 18);
  const x = (sheet.width - wide) / 2;
  const y = sheet.height - letter * 2.1;
  const steps = 48;
  for (let i = 0; i < steps; i++) {
    pen.fillStyle = `#${pressureColour((SCALE_END_INHG * (i + 0.5)) / steps).getHexString()}`;
    pen.fillRect(x + (wide * i) / steps, y, wide / steps + 0.6, letter * 0.55);
  }
  pen.strokeStyle = scheme.ink;
  pen.lineWidth = 1;
  pen.strokeRect(x, y, wide, letter * 0.55);
  pen.fillStyle = scheme.ink;
  pen.textBaseline = "middle";
  for (let value = 0; value <= SCALE_END_INHG; value += 2) {
    pen.textAlign = "center";
    pen.fillText(value ? String(value) : "cabin", x + (wide * value) / SCALE_END_INHG, y + letter * 1.25);
  }
  pen.textAlign = "center";
  pen.fillText("suction, inHg below the cabin", sheet.width / 2, y - letter * 0.75);
}
