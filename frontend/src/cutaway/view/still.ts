// The finest picture of a moment that stands still: drawn beside the screen in bands, one after the other, so that
// a touch never waits for more than one of them, and shown when all are there.

import { Mesh, OrthographicCamera, PlaneGeometry, Scene, ShaderMaterial, UnsignedByteType, Vector2, WebGLRenderTarget } from "three";
import { makeStopwatch } from "./stopwatch.ts";
import type { Moment, Stage } from "./stage.ts";

/** Nothing has moved for so long: then it stands still. */
const STILL_MS = 250;
const BANDS = 10;
const SAMPLES = 4;

export interface Still {
  /** Draws this moment finely once nothing has moved for a while. */
  begin: (moment: Moment) => void;
  /** Drops what is not shown yet. */
  drop: () => void;
  dispose: () => void;
}

function sheetOf(target: WebGLRenderTarget): { scene: Scene; camera: OrthographicCamera } {
  const material = new ShaderMaterial({
    vertexShader: "varying vec2 at; void main() { at = uv; gl_Position = vec4(position.xy, 0.0, 1.0); }",
    fragmentShader: "varying vec2 at; uniform sampler2D drawn; void main() { gl_FragColor = vec4(texture2D(drawn, at).rgb, 1.0); }",
    uniforms: { drawn: { value: target.texture } },
    depthTest: false,
  });
  const scene = new Scene();
  const sheet = new Mesh(new PlaneGeometry(2, 2), material);
  sheet.frustumCulled = false;
  scene.add(sheet);
  return { scene, camera: new OrthographicCamera() };
}

export function makeStill(stage: Stage, shown: () => void): Still {
  const { renderer } = stage;
  const stopwatch = makeStopwatch(renderer.getContext() as WebGL2RenderingContext);
  const target = new WebGLRenderTarget(1, 1, { samples: SAMPLES, type: UnsignedByteType });
  target.scissorTest = true;
  const sheet = sheetOf(target);
  let timer = 0;
  const drop = (): void => {
    window.clearTimeout(timer);
    stopwatch.stop();
  };
  const band = (moment: Moment, number: number): void => {
    const { width, height } = target;
    const from = Math.floor((height * number) / BANDS);
    target.scissor.set(0, from, width, Math.floor((height * (number + 1)) / BANDS) - from);
    renderer.setRenderTarget(target);
    stage.draw(moment, true);
    renderer.setRenderTarget(null);
    stopwatch.time(performance.now(), () => {
      if (number + 1 < BANDS) return band(moment, number + 1);
      // A canvas that had fewer points while it moved gets its own resolution again.
      if (renderer.getPixelRatio() !== devicePixelRatio) renderer.setPixelRatio(devicePixelRatio);
      renderer.render(sheet.scene, sheet.camera);
      shown();
    });
  };
  return {
    drop,
    begin: (moment) => {
      drop();
      timer = window.setTimeout(() => {
        const { width, height } = renderer.getSize(new Vector2());
        target.setSize(Math.round(width * devicePixelRatio), Math.round(height * devicePixelRatio));
        band(moment, 0);
      }, STILL_MS);
    },
    dispose: () => {
      drop();
      target.dispose();
    },
  };
}
