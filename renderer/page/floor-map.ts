import {
  FloatType,
  HalfFloatType,
  LinearFilter,
  LinearMipmapLinearFilter,
  NearestFilter,
  Vector2,
  type Vector3,
  type WebGLRenderer,
  WebGLRenderTarget,
} from 'three';
import { createFullscreenPass } from './fullscreen.ts';
import { OCCLUSION_DECLARATIONS } from './occlusion-shader.ts';
import type { OcclusionUniforms } from './occlusion-uniforms.ts';

/** On a chair a texel is 8 mm: the map is smooth but at contacts. */
const SIZE_PX = 384;

const GATHER = /* glsl */ `
${OCCLUSION_DECLARATIONS}
uniform sampler2D sum;
uniform float first;
uniform vec3 centre;
uniform vec3 across;
uniform vec3 along;
uniform vec3 normal;
in vec2 place;
out vec4 result;
void main() {
  vec2 at = place * 2.0 - 1.0;
  vec2 light = studioSky( centre + at.x * across + at.y * along, normal, normal );
  result = vec4( light, 0.0, 0.0 );
  if ( first == 0.0 ) result += texelFetch( sum, ivec2( gl_FragCoord.xy ), 0 );
}
`;

/** The share of light, led to 1 at the rim of the map: a floor has no edge. */
const FINISH = /* glsl */ `
uniform sampler2D sum;
in vec2 place;
out vec4 result;
void main() {
  vec4 light = texelFetch( sum, ivec2( gl_FragCoord.xy ), 0 );
  float share = light.y > 0.0 ? light.x / light.y : 1.0;
  float rim = smoothstep( 0.45, 0.98, length( place * 2.0 - 1.0 ) );
  result = vec4( mix( share, 1.0, rim ) );
}
`;

/**
 * Softens the map along one axis by three widths: red fine, green middle, blue wide. A shadow far from what casts it
 * is a penumbra, where the single depth maps would show as steps; the wide width reads a coarser mipmap.
 */
const SOFTEN = /* glsl */ `
uniform sampler2D map;
uniform vec2 axis;
uniform float first;
in vec2 place;
out vec4 result;
float gather( int channel, float reach, float step, float level ) {
  float sum = 0.0;
  float weight = 0.0;
  for ( float at = - reach; at <= reach; at += step ) {
    float w = exp( - 2.0 * at * at / ( reach * reach ) );
    vec4 share = textureLod( map, place + at * axis, level );
    sum += w * ( first > 0.0 ? share.r : share[ channel ] );
    weight += w;
  }
  return sum / weight;
}
void main() {
  result = vec4( gather( 0, 2.0, 1.0, 0.0 ), gather( 1, 8.0, 2.0, 1.0 ), gather( 2, 32.0, 4.0, 2.0 ), 1.0 );
}
`;

/** A flat piece of floor or wall. `across` and `along` reach from its centre to its edges, in metres. */
export interface FloorPatch {
  readonly centre: Vector3;
  readonly across: Vector3;
  readonly along: Vector3;
  readonly normal: Vector3;
}

/** Measures what share of the light a patch still gets beside the product; the contact shadow is the rest. */
export interface FloorMapper {
  /** Adds the page of directions that the uniforms hold at the moment. */
  gather(patch: FloorPatch, first: boolean): void;
  /** Share of light with mipmaps, softened a little (red), more (green) and widely (blue). */
  finish(): WebGLRenderTarget;
  dispose(): void;
}

export function createFloorMapper(renderer: WebGLRenderer, uniforms: OcclusionUniforms): FloorMapper {
  const create = () =>
    new WebGLRenderTarget(SIZE_PX, SIZE_PX, {
      type: FloatType,
      minFilter: NearestFilter,
      magFilter: NearestFilter,
      depthBuffer: false,
    });
  let [sum, other] = [create(), create()];
  const createMap = () =>
    new WebGLRenderTarget(SIZE_PX, SIZE_PX, {
      type: HalfFloatType,
      minFilter: LinearMipmapLinearFilter,
      magFilter: LinearFilter,
      generateMipmaps: true,
      depthBuffer: false,
    });
  const [map, half] = [createMap(), createMap()];
  const soften = createFullscreenPass(SOFTEN, {
    map: { value: null },
    axis: { value: new Vector2() },
    first: { value: 1 },
  });
  const patchUniforms = {
    sum: { value: sum.texture },
    first: { value: 1 },
    centre: { value: null as Vector3 | null },
    across: { value: null as Vector3 | null },
    along: { value: null as Vector3 | null },
    normal: { value: null as Vector3 | null },
  };
  const gather = createFullscreenPass(GATHER, { ...uniforms, ...patchUniforms });
  const finish = createFullscreenPass(FINISH, { sum: { value: sum.texture } });
  return {
    gather(patch, first) {
      patchUniforms.sum.value = sum.texture;
      patchUniforms.first.value = first ? 1 : 0;
      patchUniforms.centre.value = patch.centre;
      patchUniforms.across.value = patch.across;
      patchUniforms.along.value = patch.along;
      patchUniforms.normal.value = patch.normal;
      gather.draw(renderer, other);
      [sum, other] = [other, sum];
    },
    finish() {
      finish.uniforms.sum!.value = sum.texture;
      finish.draw(renderer, map);
      for (const [from, to, x, y] of [[map, half, 1, 0] as const, [half, map, 0, 1] as const]) {
        soften.uniforms.map!.value = from.texture;
        soften.uniforms.axis!.value.set(x / SIZE_PX, y / SIZE_PX);
        soften.uniforms.first!.value = x;
        soften.draw(renderer, to);
      }
      return map;
    },
    dispose() {
      for (const part of [sum, other, map, half, gather, finish, soften]) part.dispose();
    },
  };
}
