// A picture beside the screen, with smooth edges, and how it comes onto the screen: for canvases that have none
// themselves, and for what is drawn in pieces.

import { Mesh, OrthographicCamera, PlaneGeometry, Scene, ShaderMaterial, UnsignedByteType, type WebGLRenderer, WebGLRenderTarget } from "three";

const SAMPLES = 4;

export interface Sheet {
  readonly target: WebGLRenderTarget;
  /** Draws on it, in rows from one share of its height to another. */
  on: (draw: () => void, from?: number, to?: number) => void;
  show: () => void;
  dispose: () => void;
}

export function makeSheet(renderer: WebGLRenderer): Sheet {
  const target = new WebGLRenderTarget(1, 1, { samples: SAMPLES, type: UnsignedByteType });
  target.scissorTest = true;
  const material = new ShaderMaterial({
    vertexShader: "varying vec2 at; void main() { at = uv; gl_Position = vec4(position.xy, 0.0, 1.0); }",
    fragmentShader: "varying vec2 at; uniform sampler2D drawn; void main() { gl_FragColor = vec4(texture2D(drawn, at).rgb, 1.0); }",
    uniforms: { drawn: { value: target.texture } },
    depthTest: false,
  });
  const sheet = new Mesh(new PlaneGeometry(2, 2), material);
  sheet.frustumCulled = false;
  const scene = new Scene().add(sheet);
  const camera = new OrthographicCamera();
  return {
    target,
    on: (draw, from = 0, to = 1) => {
      const first = Math.floor(target.height * from);
      target.scissor.set(0, first, target.width, Math.floor(target.height * to) - first);
      renderer.setRenderTarget(target);
      draw();
      renderer.setRenderTarget(null);
    },
    show: () => renderer.render(scene, camera),
    dispose: () => {
      target.dispose();
      material.dispose();
      sheet.geometry.dispose();
    },
  };
}
