// The light of the drawing: one soft window at the viewer's upper left and the sky, computed at the corners
// of each surface, so that pixels are cheap even without graphics hardware.

import { BackSide, Color, FrontSide, ShaderMaterial } from "three";

const CORNER = /* glsl */ `
uniform vec3 tint;
varying vec3 shade;
#ifdef USE_COLOR
#define OWN color
#else
#define OWN vec3(1.0)
#endif
void main() {
  vec4 place = modelViewMatrix * vec4(position, 1.0);
  vec3 facing = normalize(normalMatrix * normal);
  #ifdef FLIP_SIDED
  facing = -facing;
  #endif
  vec3 window = normalize(vec3(-0.45, 0.62, 0.64));
  float key = max(dot(facing, window), 0.0);
  float sky = 0.5 + 0.5 * facing.y;
  vec3 half_way = normalize(window + normalize(-place.xyz));
  float gleam = pow(max(dot(facing, half_way), 0.0), 24.0);
  shade = OWN * tint * (0.5 + 0.2 * sky + 0.38 * key) + 0.16 * gleam;
  gl_Position = projectionMatrix * place;
}`;

const POINT = /* glsl */ `
varying vec3 shade;
void main() {
  gl_FragColor = vec4(shade, 1.0);
}`;

/** A lit surface; `tint` may be changed at any time. */
export class Studio extends ShaderMaterial {
  readonly tint: Color;

  constructor(options: { tint?: string; inside?: boolean; vertexColors?: boolean }) {
    const tint = new Color(options.tint ?? "#ffffff");
    super({
      vertexShader: CORNER,
      fragmentShader: POINT,
      uniforms: { tint: { value: tint } },
      vertexColors: options.vertexColors ?? false,
      side: options.inside ? BackSide : FrontSide,
      // Surfaces are moved back a little, so that lines on them are fully visible.
      polygonOffset: true,
      polygonOffsetFactor: 1,
      polygonOffsetUnits: 1,
    });
    this.tint = tint;
  }
}
