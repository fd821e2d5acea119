import {
  FloatType,
  HalfFloatType,
  LinearFilter,
  LinearMipmapLinearFilter,
  type Matrix4,
  NearestFilter,
  type Vector3,
  type WebGLRenderer,
  WebGLRenderTarget,
} from 'three';
import { OCCLUSION_DECLARATIONS, type OcclusionUniforms } from './studio-shading.ts';
import { createFullscreenPass } from './targets.ts';

/** On a chair a texel is 15 mm. Light from the floor comes from a wider area than that. */
const SIZE_PX = 192;

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

/** The share of light, faded to 1 at the rim of the map, because a floor has no edge. */
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

/** A flat piece of floor or wall. `across` and `along` reach from its centre to its edges, in metres. */
export interface FloorPatch {
  readonly centre: Vector3;
  readonly across: Vector3;
  readonly along: Vector3;
  readonly normal: Vector3;
}

export function turnPatch({ centre, across, along, normal }: FloorPatch, turned: Matrix4): FloorPatch {
  const turn = (axis: Vector3) => axis.clone().transformDirection(turned).multiplyScalar(axis.length());
  return {
    centre: centre.clone().applyMatrix4(turned),
    across: turn(across),
    along: turn(along),
    normal: turn(normal),
  };
}

/** Measures the share of the studio's light that reaches the floor around the product and can reflect up. */
interface FloorMapper {
  /** Adds the page of directions that is set in the uniforms. */
  gather(patch: FloorPatch, first: boolean): void;
  /** Red: the share of light, with mipmaps. */
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
  const map = new WebGLRenderTarget(SIZE_PX, SIZE_PX, {
    type: HalfFloatType,
    minFilter: LinearMipmapLinearFilter,
    magFilter: LinearFilter,
    generateMipmaps: true,
    depthBuffer: false,
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
      return map;
    },
    dispose() {
      for (const part of [sum, other, map, gather, finish]) part.dispose();
    },
  };
}
