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
import type { Tile } from '../tiles.ts';
import { CUBIC_SPLINE } from './contact-map.ts';
import type { FloorPatch } from './floor-map.ts';

/** Shares of the picture's side from its edge: no shadow up to the first, full shadow from the second. */
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
 * Black with coverage only: the share of light that the floor loses, multiplied onto the encoded background as in
 * retouching. If it were encoded like a lit floor, half a shadow would look like a quarter, and feet would seem to
 * float. In any framing it ends before the edge of the frame.
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

/** A patch with a shadow, in the rig's frame, and the share of light that it loses at each place: red, 0–1. */
interface Shaded {
  readonly patch: FloorPatch;
  readonly map: Texture;
}

export interface ShadowCatcher {
  readonly mesh: Mesh;
  /**
   * Places the catcher on a patch; `null` removes it. From behind it is invisible, because a wall would hide the
   * product. `sinkM`: metres below the patch, so that it never flickers with soles. `marginPx`: border that is not part
   * of the frame.
   */
  place(shaded: Shaded | null, options?: { readonly sinkM?: number; readonly marginPx?: number }): void;
  /** Held out, it only removes the parts behind it, for layers of other parts. */
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
  // After all solid parts, before all transparent ones.
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
      // Rows of the shader run from the bottom.
      uniforms.corner.value.set(tile.left, heightPx - tile.top - tile.heightPx);
    },
    dispose() {
      geometry.dispose();
      material.dispose();
    },
  };
}
