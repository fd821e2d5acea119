import { type Material, ShaderChunk, Vector2 } from 'three';
import { KEY_DIRECTION } from './softboxes.ts';
import { StudioProblem } from './studio-problem.ts';

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

/** Gives a material that was made fit for the studio the band; unlit ones have none. */
export function showGloss(material: Material, { fromM, toM }: GlossBand): void {
  const { onBeforeCompile, customProgramCacheKey } = material;
  material.onBeforeCompile = (shader, renderer) => {
    onBeforeCompile.call(material, shader, renderer);
    if (!shader.fragmentShader.includes(INCLUDE)) return;
    shader.uniforms.studioGloss = { value: new Vector2(fromM, toM) };
    shader.fragmentShader = replaceOnce(
      shader.fragmentShader,
      INCLUDE,
      replaceOnce(ShaderChunk.lights_fragment_begin, PLAIN, SWING),
    ).replace('void main() {', 'uniform vec2 studioGloss;\nvoid main() {');
  };
  material.customProgramCacheKey = () => `${customProgramCacheKey.call(material)}, with its gloss`;
  material.needsUpdate = true;
}

/** @throws StudioProblem where the text is not there exactly once, as after a change of three's shaders */
function replaceOnce(shader: string, text: string, by: string): string {
  const [before, after, ...more] = shader.split(text);
  if (after !== undefined && more.length === 0) return before + by + after;
  throw new StudioProblem('shader-failed', `The shader does not hold “${text.slice(0, 60)}” exactly once.`);
}
