// The light of the drawing: a studio with one large window at the viewer's upper left, worked out as a function
// of direction, so that metals reflect it without a texture. At the finest level it is worked out at every point,
// else at the corners of each surface, which costs little even without graphics hardware.

import { Color, ShaderMaterial } from "three";

const ROOM = /* glsl */ `
const vec3 WINDOW = vec3(-0.4508, 0.6211, 0.6411);

/** What is seen of the studio in a direction; a rough surface sees it blurred. */
vec3 studio(vec3 to, float rough) {
  float high = smoothstep(-0.3 - rough, 0.4 + rough, to.y);
  vec3 seen = mix(vec3(0.30, 0.29, 0.27), vec3(0.78, 0.81, 0.86), high);
  float level = to.y * 5.0 / (1.0 + 3.0 * rough);
  seen -= (0.24 - 0.16 * rough) * exp(-level * level);
  float near = dot(to, WINDOW);
  return seen + (1.0 - 0.6 * rough) * smoothstep(0.82 - 0.6 * rough, 0.97, near);
}

`;

const LIGHT = /* glsl */ `
uniform vec3 ground;
uniform float glow;
${ROOM}
/** material: how metallic, how polished, how open to the light. */
vec3 lit(vec3 place, vec3 facing, vec3 own, vec3 material) {
  vec3 eye = normalize(-place);
  float key = max(dot(facing, WINDOW), 0.0);
  float sky = 0.5 + 0.5 * facing.y;
  float slant = 1.0 - max(dot(facing, eye), 0.0);
  vec3 mirrored = studio(reflect(-eye, facing), 1.0 - material.y);
  vec3 dull = own * (0.5 + 0.2 * sky + 0.36 * key) + material.y * mirrored * (0.06 + 0.5 * slant * slant * slant * slant);
  vec3 metal = own * (0.26 + 0.16 * sky + 0.2 * key + 0.72 * mirrored);
  vec3 shade = mix(dull, metal, material.x) * material.z;
  // What is spoken of is brighter and warmer towards its outline; the rest goes towards the ground, less so a dark one.
  if (glow > 0.0) shade = shade * 1.1 + vec3(0.55, 0.3, 0.04) * (0.12 + slant * slant);
  if (glow < 0.0) shade = mix(vec3(dot(shade, vec3(0.33))), ground, 0.5 + 0.2 * ground.g);
  return shade;
}
`;

const CORNER = /* glsl */ `
uniform vec3 tint;
attribute vec3 material;
#ifdef FINE
varying vec3 place;
varying vec3 facing;
varying vec3 own;
varying vec3 made;
#else
varying vec3 shade;
${LIGHT}
#endif
void main() {
  vec4 at = modelViewMatrix * vec4(position, 1.0);
  vec3 out_of = normalize(normalMatrix * normal);
  #ifdef USE_COLOR
  vec3 hue = color * tint;
  #else
  vec3 hue = tint;
  #endif
  #ifdef FINE
  place = at.xyz;
  facing = out_of;
  own = hue;
  made = material;
  #else
  shade = lit(at.xyz, out_of, hue, material);
  #endif
  gl_Position = projectionMatrix * at;
}`;

const POINT = /* glsl */ `
#ifdef FINE
varying vec3 place;
varying vec3 facing;
varying vec3 own;
varying vec3 made;
${LIGHT}
#else
varying vec3 shade;
#endif
void main() {
  #ifdef FINE
  gl_FragColor = vec4(lit(place, normalize(facing), own, made), 1.0);
  #else
  gl_FragColor = vec4(shade, 1.0);
  #endif
}`;

/** A lit surface; `tint` may be changed at any time. Its pieces have an attribute `material` (see `openness.ts`). */
export class Studio extends ShaderMaterial {
  /** The colour behind everything, one for all surfaces. */
  static readonly ground = { value: new Color() };
  readonly tint: Color;

  constructor(
    options: { tint?: string; vertexColors?: boolean },
    /** How metallic and how polished, where a piece does not say it itself. */
    readonly made: readonly [metal: number, polish: number] = [0, 0.25],
  ) {
    const tint = new Color(options.tint ?? "#ffffff");
    super({
      vertexShader: CORNER,
      fragmentShader: POINT,
      uniforms: { tint: { value: tint }, ground: Studio.ground, glow: { value: 0 } },
      vertexColors: options.vertexColors ?? false,
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

const PANE = /* glsl */ `
${ROOM}
vec4 pane(vec3 place, vec3 facing) {
  vec3 eye = normalize(-place);
  float slant = 1.0 - abs(dot(facing, eye));
  vec3 mirrored = studio(reflect(-eye, facing), 0.06);
  return vec4(mirrored, 0.05 + 0.1 * smoothstep(0.6, 1.2, mirrored.g) + 0.3 * slant * slant * slant * slant);
}
`;

/** A pane: only what it mirrors, more at a slant. */
export class Glass extends ShaderMaterial {
  constructor() {
    super({
      vertexShader: /* glsl */ `
#ifdef FINE
varying vec3 place;
varying vec3 facing;
#else
varying vec4 shade;
${PANE}
#endif
void main() {
  vec4 at = modelViewMatrix * vec4(position, 1.0);
  vec3 out_of = normalize(normalMatrix * normal);
  #ifdef FINE
  place = at.xyz;
  facing = out_of;
  #else
  shade = pane(at.xyz, out_of);
  #endif
  gl_Position = projectionMatrix * at;
}`,
      fragmentShader: /* glsl */ `
#ifdef FINE
varying vec3 place;
varying vec3 facing;
${PANE}
#else
varying vec4 shade;
#endif
void main() {
  #ifdef FINE
  gl_FragColor = pane(place, facing);
  #else
  gl_FragColor = shade;
  #endif
}`,
      transparent: true,
      depthWrite: false,
    });
  }
}

/** Has the light worked out at every point, or only at corners. */
export function lightFinely(material: ShaderMaterial, fine: boolean): void {
  if ("FINE" in (material.defines as object) === fine) return;
  material.defines = fine ? { FINE: "" } : {};
  material.needsUpdate = true;
}
