import {
  BufferAttribute,
  BufferGeometry,
  CustomBlending,
  GLSL3,
  Mesh,
  OneFactor,
  OneMinusSrcAlphaFactor,
  RawShaderMaterial,
  type Texture,
  Vector2,
  ZeroFactor,
} from 'three';
import { CUBIC_SPLINE } from './contact-map.ts';
import type { FloorPatch } from './floor-map.ts';
import type { Tile } from './tiles.ts';

/** Share of the picture's side at its edge that stays bare, and where the shadow is let in whole. */
const EDGE = [0.02, 0.12] as const;

const VERTEX = /* glsl */ `
precision highp float;
uniform mat4 projectionMatrix;
uniform mat4 viewMatrix;
in vec3 position;
in vec2 uv;
out vec2 place;
void main() {
  place = uv;
  gl_Position = projectionMatrix * viewMatrix * vec4( position, 1.0 );
}
`;

/**
 * Black with coverage only: as much of it as the ground loses of its light, laid over the encoded ground as one multiplies a
 * shadow in retouching. Encoded like a lit floor, halves would show as quarters, and feet would seem to float. Whatever the
 * framing, it has ended before the edge of the frame.
 */
const FRAGMENT = /* glsl */ `
precision highp float;
precision highp sampler2D;
uniform sampler2D map;
uniform vec2 size;
uniform vec2 corner;
uniform float margin;
in vec2 place;
out vec4 result;
${CUBIC_SPLINE}
void main() {
  float dark = clamp( readSpline( map, place, 0 ).r, 0.0, 1.0 );
  vec2 frame = ( gl_FragCoord.xy + corner - margin ) / ( size - 2.0 * margin );
  vec2 edge = smoothstep( vec2( ${EDGE[0]} ), vec2( ${EDGE[1]} ), min( frame, 1.0 - frame ) );
  result = vec4( 0.0, 0.0, 0.0, dark * edge.x * edge.y );
}
`;

/** What takes a shadow, in the rig's frame, and the share of light each place of it loses: red, 0–1. */
interface Shaded {
  readonly patch: FloorPatch;
  readonly map: Texture;
}

export interface ShadowCatcher {
  readonly mesh: Mesh;
  /**
   * Lays the catcher on a patch; `null` takes it away. From behind, where a wall would hide the product, it is not seen.
   * `sinkM`: so far below, that soles never fight with it. `marginPx`: what does not count as frame on each edge.
   */
  place(shaded: Shaded | null, options?: { readonly sinkM?: number; readonly marginPx?: number }): void;
  /** Held out, it darkens what lies behind it and covers nothing itself; a layer's. */
  holdOut(held: boolean): void;
  /** The picture's size, and the tile of it that is drawn. */
  setSize(widthPx: number, heightPx: number, tile: Tile): void;
  dispose(): void;
}

export function createShadowCatcher(): ShadowCatcher {
  const geometry = new BufferGeometry();
  const position = new BufferAttribute(new Float32Array(12), 3);
  geometry.setAttribute('position', position);
  geometry.setAttribute('uv', new BufferAttribute(new Float32Array([0, 0, 1, 0, 1, 1, 0, 1]), 2));
  geometry.setIndex([0, 1, 2, 0, 2, 3]);
  const uniforms = {
    map: { value: null as Texture | null },
    size: { value: new Vector2(1, 1) },
    corner: { value: new Vector2() },
    margin: { value: 0 },
  };
  const material = new RawShaderMaterial({
    glslVersion: GLSL3,
    vertexShader: VERTEX,
    fragmentShader: FRAGMENT,
    uniforms,
    transparent: true,
    depthWrite: false,
    blending: CustomBlending,
    blendSrc: OneFactor,
    blendDst: OneMinusSrcAlphaFactor,
  });
  const mesh = new Mesh(geometry, material);
  mesh.frustumCulled = false;
  mesh.matrixAutoUpdate = false;
  mesh.visible = false;
  // after everything solid, before everything see-through
  mesh.renderOrder = 0;
  return {
    mesh,
    place(shaded, { sinkM = 0, marginPx = 0 } = {}) {
      mesh.visible = shaded !== null;
      if (!shaded) return;
      const { patch, map } = shaded;
      uniforms.map.value = map;
      uniforms.margin.value = marginPx;
      [
        [-1, -1],
        [1, -1],
        [1, 1],
        [-1, 1],
      ].forEach(([x, y], corner) => {
        const place = patch.centre.clone().addScaledVector(patch.across, x!).addScaledVector(patch.along, y!);
        place.addScaledVector(patch.normal, -sinkM).toArray(position.array, corner * 3);
      });
      position.needsUpdate = true;
    },
    holdOut(held) {
      material.blendSrc = held ? ZeroFactor : OneFactor;
    },
    setSize(widthPx, heightPx, tile) {
      uniforms.size.value.set(widthPx, heightPx);
      // rows of the shader run from the bottom
      uniforms.corner.value.set(tile.left, heightPx - tile.top - tile.heightPx);
    },
    dispose() {
      geometry.dispose();
      material.dispose();
    },
  };
}
