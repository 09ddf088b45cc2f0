// The light of the drawing: one soft window at the viewer's upper left and the sky, computed at the corners
// of each surface, so that pixels are cheap even without graphics hardware.

import { BackSide, Color, FrontSide, ShaderMaterial } from "three";

const CORNER = /* glsl */ `
uniform vec3 tint;
uniform vec3 ground;
uniform float glow;
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
  // What is spoken of is brighter and warmer towards its outline; the rest goes towards the ground.
  float outline = 1.0 - abs(dot(facing, normalize(-place.xyz)));
  if (glow > 0.0) shade = shade * 1.12 + vec3(0.5, 0.28, 0.04) * outline * outline;
  if (glow < 0.0) shade = mix(vec3(dot(shade, vec3(0.33))), ground, 0.68);
  gl_Position = projectionMatrix * place;
}`;

const POINT = /* glsl */ `
varying vec3 shade;
void main() {
  gl_FragColor = vec4(shade, 1.0);
}`;

/** A lit surface; `tint` may be changed at any time. */
export class Studio extends ShaderMaterial {
  /** The colour behind everything, one for all surfaces. */
  static readonly ground = { value: new Color() };
  readonly tint: Color;

  constructor(options: { tint?: string; inside?: boolean; vertexColors?: boolean }) {
    const tint = new Color(options.tint ?? "#ffffff");
    super({
      vertexShader: CORNER,
      fragmentShader: POINT,
      uniforms: { tint: { value: tint }, ground: Studio.ground, glow: { value: 0 } },
      vertexColors: options.vertexColors ?? false,
      side: options.inside ? BackSide : FrontSide,
      // Surfaces are moved back a little, so that lines on them are fully visible.
      polygonOffset: true,
      polygonOffsetFactor: 1,
      polygonOffsetUnits: 1,
    });
    this.tint = tint;
  }

  /** 1: the next piece drawn glows; -1: it steps back; 0: neither. */
  set glow(value: number) {
    (this.uniforms["glow"] as { value: number }).value = value;
    this.uniformsNeedUpdate = true;
  }
}
