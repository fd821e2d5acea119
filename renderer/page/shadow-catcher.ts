import {
  BufferAttribute,
  BufferGeometry,
  CustomBlending,
  DoubleSide,
  GLSL3,
  Mesh,
  OneFactor,
  OneMinusSrcAlphaFactor,
  RawShaderMaterial,
  type Texture,
  Vector2,
  type Vector3,
  ZeroFactor,
} from 'three';
import type { FloorPatch } from './floor-map.ts';
import type { Tile } from './tiles.ts';

/**
 * How the measured darkness d is shown, as in retouching: d² / (d + HAZE). What is dark under the product stays; the
 * wide veil around it goes, which on a white page would end somewhere and look like dirt.
 */
const HAZE = 0.22;

/** How much of it: the floor of a real set also gets light back from the product, which is not computed. */
const STRENGTH = 0.92;

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
 * Black with coverage only, already in the picture's encoding: over white it shows what a white floor would show,
 * sRGB-encoded. It ends softly before the edge of the frame.
 */
const FRAGMENT = /* glsl */ `
precision highp float;
uniform sampler2D map;
uniform vec2 size;
uniform vec2 corner;
in vec2 place;
out vec4 result;
float encode( float value ) {
  return value <= 0.0031308 ? 12.92 * value : 1.055 * pow( value, 1.0 / 2.4 ) - 0.055;
}
void main() {
  // each finer width counts only where it is clearly darker: at the contact, not on the steps of a penumbra
  vec3 shares = clamp( textureLod( map, place, 0.0 ).rgb, 0.0, 1.0 );
  float share = mix( shares.b, shares.g, smoothstep( 0.05, 0.2, shares.b - shares.g ) );
  share = mix( share, shares.r, smoothstep( 0.05, 0.2, share - shares.r ) );
  float dark = 1.0 - share;
  share = 1.0 - dark * dark / ( dark + ${HAZE} );
  vec2 frame = ( gl_FragCoord.xy + corner ) / size;
  vec2 edge = smoothstep( vec2( 0.0 ), vec2( 0.16 ), min( frame, 1.0 - frame ) );
  result = vec4( 0.0, 0.0, 0.0, ${STRENGTH} * edge.x * edge.y * ( 1.0 - encode( share ) ) );
}
`;

export interface ShadowCatcher {
  readonly mesh: Mesh;
  /** Lays the catcher on a patch; `null` takes it away. `sink` metres below, so that soles never fight with it. */
  lay(patch: FloorPatch | null, map: Texture | null, sink: number): void;
  /** Whether it lies behind all that stands on it, seen from a point of the rig. */
  liesBehind(eye: Vector3): boolean;
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
  };
  const material = new RawShaderMaterial({
    glslVersion: GLSL3,
    vertexShader: VERTEX,
    fragmentShader: FRAGMENT,
    uniforms,
    transparent: true,
    depthWrite: false,
    side: DoubleSide,
    forceSinglePass: true,
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
  let laid: FloorPatch | null = null;
  return {
    mesh,
    lay(patch, map, sink) {
      mesh.visible = patch !== null && map !== null;
      laid = mesh.visible ? patch : null;
      if (!patch || !map) return;
      uniforms.map.value = map;
      [
        [-1, -1],
        [1, -1],
        [1, 1],
        [-1, 1],
      ].forEach(([x, y], corner) => {
        const place = patch.centre.clone().addScaledVector(patch.across, x!).addScaledVector(patch.along, y!);
        place.addScaledVector(patch.normal, -sink).toArray(position.array, corner * 3);
      });
      position.needsUpdate = true;
    },
    liesBehind: (eye) => laid === null || eye.clone().sub(laid.centre).dot(laid.normal) > 0,
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
