// The gauge's face: 0 to 6 inHg over three quarters of a turn, the usual working range marked.

import { CanvasTexture } from "three";
import { suctionFigures, suctionUnit } from "../../shared/suction.ts";
import { METAL, SCALE_END_INHG } from "../shapes/palette.ts";

export const NEEDLE_SWEEP_DEG = 260;
// Usual working range of instrument suction; common practice, the aircraft's handbook decides.
const WORKING_INHG = [4.5, 5.5] as const;
const SIZE = 256;

const angleOf = (reading: number): number =>
  ((reading / SCALE_END_INHG - 0.5) * NEEDLE_SWEEP_DEG * Math.PI) / 180 - Math.PI / 2;

export function gaugeTexture(): CanvasTexture {
  const canvas = document.createElement("canvas");
  canvas.width = canvas.height = SIZE;
  const pen = canvas.getContext("2d") as CanvasRenderingContext2D;
  pen.fillStyle = METAL.card;
  pen.fillRect(0, 0, SIZE, SIZE);
  pen.translate(SIZE / 2, SIZE / 2);
  pen.lineWidth = 13;
  pen.strokeStyle = "#5fae6e";
  pen.beginPath();
  pen.arc(0, 0, 112, angleOf(WORKING_INHG[0]), angleOf(WORKING_INHG[1]));
  pen.stroke();
  pen.strokeStyle = pen.fillStyle = METAL.cardInk;
  pen.font = "600 40px sans-serif";
  pen.textAlign = "center";
  pen.textBaseline = "middle";
  pen.lineWidth = 6;
  if (suctionUnit() === "hPa") pen.font = "600 30px sans-serif";
  for (const { figure, inhg } of suctionFigures(SCALE_END_INHG, 1)) {
    const [c, s] = [Math.cos(angleOf(inhg)), Math.sin(angleOf(inhg))];
    pen.beginPath();
    pen.moveTo(118 * c, 118 * s);
    pen.lineTo(98 * c, 98 * s);
    pen.stroke();
    pen.fillText(String(figure), 74 * c, 74 * s);
  }
  pen.font = "600 24px sans-serif";
  pen.fillText(suctionUnit(), 0, 78);
  const texture = new CanvasTexture(canvas);
  return texture;
}
