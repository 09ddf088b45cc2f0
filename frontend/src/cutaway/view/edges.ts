// Smooth edges for a picture that has none, where sampling every point several times would cost the rate: only the
// small squares in which something changes are drawn once more, over the finished picture.

import { BufferGeometry, FramebufferTexture, LinearFilter, OrthographicCamera, Points, ShaderMaterial, Vector2, type WebGLRenderer } from "three";

/** Each square has so many points across. */
const SQUARE = 8;
const MEANS = SQUARE / 2 + 1;

// The means of four points each tell whether anything changes in a square or at its border; otherwise it is not drawn.
const SQUARES = /* glsl */ `
uniform sampler2D drawn;
uniform vec2 size;
const float LEAST = 0.03;

void main() {
  int across = int(ceil(size.x / ${SQUARE}.0));
  vec2 corner = ${SQUARE}.0 * vec2(gl_VertexID % across, gl_VertexID / across);
  vec3 low = vec3(1.0);
  vec3 high = vec3(0.0);
  for (int i = 0; i < ${MEANS * MEANS}; i++) {
    vec3 mean = textureLod(drawn, (corner + 2.0 * vec2(i % ${MEANS}, i / ${MEANS})) / size, 0.0).rgb;
    low = min(low, mean);
    high = max(high, mean);
  }
  vec3 change = high - low;
  bool still = max(max(change.x, change.y), change.z) < LEAST;
  gl_Position = still ? vec4(2.0, 2.0, 2.0, 1.0) : vec4(2.0 * (corner + ${SQUARE / 2}.0) / size - 1.0, 0.0, 1.0);
  gl_PointSize = ${SQUARE}.0;
}`;

// Where a point differs from its neighbours an edge runs through it. Its steps, where the edge moves on by a point, are
// looked for along it both ways, and the colour across the edge is mixed in as far as the edge between the steps would
// cover the point: as FXAA does (T. Lottes, 2009), but without its blur of single points, for the sake of letters.
const SMOOTHED = /* glsl */ `
uniform sampler2D drawn;
const int FAR = 6;
const float LEAST = 0.04;
ivec2 here;
vec3 at(ivec2 by) { return texelFetch(drawn, here + by, 0).rgb; }
// Green tells as much as the brightness, and costs less.
float bright(ivec2 by) { return at(by).g; }

void main() {
  here = ivec2(gl_FragCoord.xy);
  vec3 own = at(ivec2(0));
  float middle = own.g;
  vec4 off = abs(vec4(bright(ivec2(0, 1)), bright(ivec2(0, -1)), bright(ivec2(-1, 0)), bright(ivec2(1, 0))) - middle);
  gl_FragColor = vec4(own, 1.0);
  // A loop: without graphics hardware a branch is not skipped.
  for (bool found = max(max(off.x, off.y), max(off.z, off.w)) > LEAST; found; found = false) {
    bool lying = off.x + off.y > off.z + off.w;
    ivec2 across = lying ? ivec2(0, off.x >= off.y ? 1 : -1) : ivec2(off.w >= off.z ? 1 : -1, 0);
    ivec2 along = lying ? ivec2(1, 0) : ivec2(0, 1);
    vec3 beyond = at(across);
    float other = beyond.g;
    float change = 0.5 * abs(middle - other);
    // How far away the edge ends each way, and whether it ends because the own row changes.
    float ends[2];
    bool ours[2];
    for (int way = 0; way < 2; way++) {
      int far = 1;
      for (; far <= FAR; far++) {
        ivec2 to = along * (way == 0 ? far : -far);
        ours[way] = abs(bright(to) - middle) >= change;
        if (ours[way] || abs(bright(to + across) - other) >= change) break;
      }
      ends[way] = float(far);
    }
    int near = ends[0] <= ends[1] ? 0 : 1;
    float share = 0.5 - (ends[near] - 0.5) / (ends[0] + ends[1] - 1.0);
    if (ours[near] && ends[near] <= float(FAR)) gl_FragColor.rgb = mix(own, beyond, max(share, 0.0));
  }
}`;

export interface Edges {
  /** Smooths the edges of what is on the renderer's canvas. */
  smooth: () => void;
  dispose: () => void;
}

export function makeEdges(renderer: WebGLRenderer): Edges {
  let drawn = new FramebufferTexture(1, 1);
  const material = new ShaderMaterial({
    vertexShader: SQUARES,
    fragmentShader: SMOOTHED,
    uniforms: { drawn: { value: drawn }, size: { value: new Vector2() } },
    depthTest: false,
    depthWrite: false,
  });
  const squares = new Points(new BufferGeometry(), material);
  squares.frustumCulled = false;
  const camera = new OrthographicCamera();
  const fit = (width: number, height: number): void => {
    drawn.dispose();
    drawn = new FramebufferTexture(width, height);
    drawn.minFilter = drawn.magFilter = LinearFilter;
    (material.uniforms as { drawn: { value: unknown } }).drawn.value = drawn;
    (material.uniforms as { size: { value: Vector2 } }).size.value.set(width, height);
    squares.geometry.setDrawRange(0, Math.ceil(width / SQUARE) * Math.ceil(height / SQUARE));
  };
  return {
    smooth: () => {
      const { width, height } = renderer.domElement;
      if (drawn.image.width !== width || drawn.image.height !== height) fit(width, height);
      renderer.copyFramebufferToTexture(drawn);
      const { autoClear } = renderer;
      renderer.autoClear = false;
      renderer.render(squares, camera);
      renderer.autoClear = autoClear;
    },
    dispose: () => {
      drawn.dispose();
      material.dispose();
      squares.geometry.dispose();
    },
  };
}
