// A moment as a PNG of any size: drawn twice as large and halved, so that edges are smooth everywhere.

import type { Moment, Stage } from "./stage.ts";

/** Draws on the stage's own canvas and calls `restore` before the browser can show it. */
export async function pictureOf(
  stage: Stage,
  width: number,
  height: number,
  moment: Moment,
  restore: () => void,
): Promise<Blob> {
  const sheet = document.createElement("canvas");
  sheet.width = width;
  sheet.height = height;
  const pen = sheet.getContext("2d") as CanvasRenderingContext2D;
  const twice = 2 * Math.max(width, height) <= stage.renderer.capabilities.maxTextureSize ? 2 : 1;
  stage.renderer.setPixelRatio(twice);
  stage.renderer.setSize(width, height, false);
  stage.camera.aspect = width / height;
  stage.draw(moment, true);
  pen.imageSmoothingQuality = "high";
  pen.drawImage(stage.renderer.domElement, 0, 0, width, height);
  stage.letter(pen, moment, width, height);
  restore();
  return new Promise((done, failed) => {
    sheet.toBlob((blob) => (blob ? done(blob) : failed(new Error(`no picture of ${width} by ${height}`))), "image/png");
  });
}
