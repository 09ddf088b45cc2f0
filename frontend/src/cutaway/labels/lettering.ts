// Draws placed labels and the scale of air pressure over the picture, upright and with a halo.

import type { Box, Placed, Sheet } from "./layout.ts";
import { suctionFigures, suctionUnit } from "../../shared/suction.ts";
import { pressureColour, SCALE_END_INHG, type Scheme } from "../shapes/palette.ts";

const FACE = 'system-ui, -apple-system, "Segoe UI", Roboto, "Noto Sans", "Liberation Sans", sans-serif';
const STROBE_SIZE = 0.8;
const STROBE_BREAK = /(?<=:) /;

export function sheetFor(pen: CanvasRenderingContext2D, width: number, height: number, letter: number): Sheet {
  pen.font = `600 ${letter}px ${FACE}`;
  return { width, height, letter, measure: (text) => pen.measureText(text).width };
}

function leader(pen: CanvasRenderingContext2D, { line }: Placed, sheet: Sheet): void {
  if (!line) return;
  const [from, to] = line;
  pen.beginPath();
  pen.moveTo(from.x, from.y);
  pen.lineTo(to.x, to.y);
  pen.stroke();
  pen.beginPath();
  pen.arc(to.x, to.y, sheet.letter * 0.17, 0, 2 * Math.PI);
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

/** The room that the scale of colours takes at the foot of the picture. */
export function scaleBox({ letter, width, height }: Sheet): Box {
  const wide = Math.min(width * 0.5, letter * 18);
  const left = (width - wide) / 2;
  return { left: left - letter * 1.6, right: left + wide + letter * 0.6, top: height - letter * 3.5, bottom: height };
}

/** Says that the rotor is drawn as a strobe shows it, with its true speed. */
const strobeWords = (rotor_rpm: number): string =>
  `rotor as under a strobe: ${Math.round(rotor_rpm / 100) * 100} rpm`.replace(/(\d)(\d{3}) rpm/, "$1,$2 rpm");

/** Where that stands: in the first corner that is free, if need be in two lines. */
export function strobeBox(sheet: Sheet, rotor_rpm: number, isFree: (box: Box) => boolean): Box {
  const { letter, width, height, measure } = sheet;
  const words = strobeWords(rotor_rpm);
  const corners = [[words], words.split(STROBE_BREAK)].flatMap((lines) => {
    const wide = Math.max(...lines.map(measure)) * STROBE_SIZE + letter;
    const high = letter * (0.5 + lines.length);
    return [0, height - high].flatMap((top) => [0, width - wide].map((left) => ({ left, top, right: left + wide, bottom: top + high })));
  });
  return corners.find(isFree) ?? (corners[0] as Box);
}

export function writeStrobe(pen: CanvasRenderingContext2D, box: Box, sheet: Sheet, scheme: Scheme, rotor_rpm: number): void {
  const { letter } = sheet;
  const size = letter * STROBE_SIZE;
  pen.font = `500 ${size}px ${FACE}`;
  pen.textAlign = "left";
  pen.textBaseline = "middle";
  pen.lineJoin = "round";
  pen.lineWidth = size * 0.28;
  pen.strokeStyle = scheme.halo;
  pen.fillStyle = scheme.soft;
  const words = strobeWords(rotor_rpm);
  const lines = box.bottom - box.top > letter * 2 ? words.split(STROBE_BREAK) : [words];
  lines.forEach((line, row) => {
    const y = box.top + letter * (0.85 + row);
    pen.strokeText(line, box.left + letter * 0.5, y);
    pen.fillText(line, box.left + letter * 0.5, y);
  });
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
  for (const { figure, inhg } of suctionFigures(SCALE_END_INHG, suctionUnit() === "hPa" ? 1 : 2)) {
    pen.textAlign = "center";
    pen.fillText(figure ? String(figure) : "cabin", x + (wide * inhg) / SCALE_END_INHG, y + letter * 1.25);
  }
  pen.textAlign = "center";
  pen.fillText(`suction, ${suctionUnit()} below the cabin`, sheet.width / 2, y - letter * 0.75);
}
