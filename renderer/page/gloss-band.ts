import { type Material, type MeshStandardMaterial, ShaderChunk, Vector2 } from 'three';
import { replaceOnce } from './change-shaders.ts';
import { KEY_DIRECTION } from './softboxes.ts';

/**
 * Degrees from upright at which a flat piece mirrors the middle of the key light to the viewer: 59°, nearly the 60° at which
 * ISO 2813 has the gloss of paint measured.
 */
export const GLOSS_DEGREES = (Math.acos(KEY_DIRECTION[2]) * 180) / Math.PI;

/** Where the band lies: metres down from the upper edge of the frame. */
export interface GlossBand {
  readonly fromM: number;
  readonly toM: number;
}

/**
 * Seen square on, a flat piece mirrors one direction all over, and a gloss looks like a matt. In a band of it the viewer's
 * direction swings aside and back, so that it mirrors the studio from the lens to the middle of the key light and back again:
 * polish shows the light with its edges, satin a soft glow, matt next to none. Only what depends on the viewer changes:
 * light, scale and the colour of a matt body are the same all over, and beside the band nothing is different at all.
 */
const SWING = /* glsl */ `
vec3 geometryViewDir = vec3( 0.0, 0.0, 1.0 );
{
  float studioPlace = ( vViewPosition.y - studioGloss.x ) / ( studioGloss.y - studioGloss.x );
  if ( studioPlace > 0.0 && studioPlace < 1.0 ) {
    float swing = ${((GLOSS_DEGREES * Math.PI) / 180).toFixed(6)} * 0.5 * ( 1.0 - cos( PI2 * studioPlace ) );
    // the mirror law: as far beyond the normal as the light is before it
    geometryViewDir = vec3( - sin( swing ) * vec2( ${toGlsl()} ), cos( swing ) );
  }
}`;

function toGlsl(): string {
  const [x, y] = KEY_DIRECTION;
  return [x, y].map((value) => (value / Math.hypot(x, y)).toFixed(6)).join(', ');
}

const PLAIN = 'vec3 geometryViewDir = ( isOrthographic ) ? vec3( 0, 0, 1 ) : normalize( vViewPosition );';
const INCLUDE = '#include <lights_fragment_begin>';
const MAIN = 'void main() {';

/**
 * Rewrites a physical material's fragment shader, also one that was rewritten before.
 * @param chunk three's piece of it that has the viewer's direction
 * @throws Error where three words it differently
 */
export function addGlossBand(fragmentShader: string, chunk: string = ShaderChunk.lights_fragment_begin): string {
  const swung = replaceOnce(chunk, PLAIN, SWING, 'the chunk lights_fragment_begin');
  const shader = 'the physical fragment shader';
  const included = replaceOnce(fragmentShader, INCLUDE, swung, shader);
  return replaceOnce(included, MAIN, `uniform vec2 studioGloss;\n${MAIN}`, shader);
}

/** Gives a material that was made fit for the studio the band; unlit ones have none. */
export function showGloss(material: Material, { fromM, toM }: GlossBand): void {
  if (!(material as MeshStandardMaterial).isMeshStandardMaterial) return;
  const { onBeforeCompile, customProgramCacheKey } = material;
  material.onBeforeCompile = (shader, renderer) => {
    onBeforeCompile.call(material, shader, renderer);
    shader.uniforms.studioGloss = { value: new Vector2(fromM, toM) };
    shader.fragmentShader = addGlossBand(shader.fragmentShader);
  };
  material.customProgramCacheKey = () => `${customProgramCacheKey.call(material)}, with its gloss`;
  material.needsUpdate = true;
}
