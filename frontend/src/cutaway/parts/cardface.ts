// The card's face: ticks every 5 degrees, numerals every 30, letters on the four quarters.

import { CanvasTexture } from "three";
import { METAL } from "../shapes/palette.ts";

const SIZE = 1024;
const MIDDLE = SIZE / 2;
const QUARTERS: Record<number, string> = { 0: "N", 90: "E", 180: "S", 270: "W" };

function tick(pen: CanvasRenderingContext2D, degrees: number): void {
  const length = degrees % 30 === 0 ? 74 : degrees % 10 === 0 ? 58 : 32;
  pen.lineWidth = degrees % 30 === 0 ? 15 : degrees % 10 === 0 ? 11 : 7;
  pen.beginPath();
  pen.moveTo(0, -(MIDDLE - 14));
  pen.lineTo(0, -(MIDDLE - 14 - length));
  pen.stroke();
}

function numeral(pen: CanvasRenderingContext2D, degrees: number): void {
  const letter = QUARTERS[degrees];
  pen.font = letter ? "700 124px sans-serif" : "600 92px sans-serif";
  pen.fillText(letter ?? String(degrees / 10), 0, -(MIDDLE - 152));
}

export function cardTexture(): CanvasTexture {
  const canvas = document.createElement("canvas");
  canvas.width = canvas.height = SIZE;
  const pen = canvas.getContext("2d") as CanvasRenderingContext2D;
  pen.fillStyle = METAL.card;
  pen.fillRect(0, 0, SIZE, SIZE);
  pen.fillStyle = pen.strokeStyle = METAL.cardInk;
  pen.textAlign = "center";
  pen.textBaseline = "middle";
  for (let degrees = 0; degrees < 360; degrees += 5) {
    pen.save();
    pen.translate(MIDDLE, MIDDLE);
    pen.rotate((degrees * Math.PI) / 180);
    tick(pen, degrees);
    if (degrees % 30 === 0) numeral(pen, degrees);
    pen.restore();
  }
  const texture = new CanvasTexture(canvas);
  texture.anisotropy = 2;
  return texture;
}
