import { type Material, type MeshStandardMaterial, ShaderChunk, Vector2, type WebGLRenderer } from 'three';
import { KEY_DIRECTION } from './softboxes.ts';

/**
 * Replaces a text that occurs exactly once in a source. The studio changes three's shaders by their text. Another
 * version of three may have other text, and then pictures would change unnoticed.
 * @param what names the source
 * @throws Error that names the text that no longer fits
 */
export function replaceOnce(source: string, text: string, by: string, what: string): string {
  const pieces = source.split(text);
  if (pieces.length === 2) return pieces.join(by);
  throw new Error(
    `“${text.trim()}” stands ${pieces.length - 1} times in ${what} of three, not once: the studio was made for another version of three.`,
  );
}

/**
 * Turns brushing as glTF defines it, on parts without tangents.
 *
 * Directions count from tangent to bitangent, which is up in the map (`KHR_materials_anisotropy`). When three makes the
 * frame from UVs, its second axis points down the map, where v grows: brushing of 30° appeared at −30° (r187). Its
 * loader corrects normal maps, but not brushing.
 */
const UPWARDS = /* glsl */ `
#ifndef USE_TANGENT
  anisotropyV.y = - anisotropyV.y;
#endif
material.anisotropyT =`;

/**
 * Rewrites a physical material's fragment shader; without brushing the compiled program stays the same.
 * @throws Error when the text in three differs
 */
export function turnBrushing(fragmentShader: string, chunks: Chunks = ShaderChunk): string {
  const turned = replaceOnce(
    chunks.lights_physical_fragment,
    'material.anisotropyT =',
    UPWARDS,
    'the chunk lights_physical_fragment',
  );
  return replaceOnce(fragmentShader, '#include <lights_physical_fragment>', turned, 'the physical fragment shader');
}

/**
 * Clear glass in a picture with any background.
 *
 * Through a transmissive surface, three shows the objects it drew behind it, and elsewhere a grey veil meant for opaque
 * pages. Here the background stays visible. Its tinted share becomes coverage plus colour, premultiplied in the
 * picture's encoding. Over white it therefore looks like glass on a white table: colour − least channel is added, and
 * the least channel of the tint stays transparent.
 */
const RETURN =
  'return vec4( ( 1.0 - F ) * attenuatedColor, 1.0 - ( 1.0 - transmittedLight.a ) * transmittanceFactor );';

const NOTE = /* glsl */ `
studioTint = ( 1.0 - F ) * transmittance;
studioOpen = 1.0 - transmittedLight.a;
return vec4( ( 1.0 - F ) * attenuatedColor, 1.0 );
`;

const OPEN = /* glsl */ `
#ifdef USE_TRANSMISSION
{
  vec3 studioWhite = gl_FragColor.rgb + studioOpen * material.transmission * clamp( studioTint, 0.0, 1.0 );
  vec3 studioBlack = linearToOutputTexel( vec4( gl_FragColor.rgb, 1.0 ) ).rgb;
  studioWhite = linearToOutputTexel( vec4( min( studioWhite, vec3( 1.0 ) ), 1.0 ) ).rgb;
  vec3 studioGain = max( studioWhite - studioBlack, vec3( 0.0 ) );
  float studioThrough = min( studioGain.r, min( studioGain.g, studioGain.b ) );
  gl_FragColor = vec4( studioWhite - studioThrough, ( 1.0 - studioThrough ) * gl_FragColor.a );
}
#else
#include <colorspace_fragment>
#endif
`;

/** three's shader chunks, by name. */
export type Chunks = Pick<typeof ShaderChunk, 'transmission_pars_fragment' | 'lights_physical_fragment'>;

/**
 * Rewrites a physical material's fragment shader; without transmission the compiled program stays the same.
 * @throws Error when the text in three differs
 */
export function addGlass(fragmentShader: string, chunks: Chunks = ShaderChunk): string {
  const chunk = 'the chunk transmission_pars_fragment';
  const declared = replaceOnce(
    chunks.transmission_pars_fragment,
    '#ifdef USE_TRANSMISSION\n',
    '#ifdef USE_TRANSMISSION\nvec3 studioTint = vec3( 1.0 );\nfloat studioOpen = 0.0;\n',
    chunk,
  );
  const noted = replaceOnce(declared, RETURN, NOTE, chunk);
  const shader = 'the physical fragment shader';
  const included = replaceOnce(fragmentShader, '#include <transmission_pars_fragment>', noted, shader);
  return replaceOnce(included, '#include <colorspace_fragment>', OPEN, shader);
}

/** three clears the background of glass to half-covered white; here it is transparent, as {@link addGlass} expects. */
export function clearBehindGlass(renderer: WebGLRenderer): void {
  const setClearColor = renderer.setClearColor.bind(renderer);
  renderer.setClearColor = (color, alpha) => {
    if (color === 0xffffff && alpha === 0.5) setClearColor(0x000000, 0);
    else setClearColor(color, alpha);
  };
}

/**
 * Degrees from upright at which a flat piece mirrors the middle of the key light to the viewer: 59°, close to the 60° at which
 * ISO 2813 measures the gloss of paint.
 */
export const GLOSS_DEGREES = (Math.acos(KEY_DIRECTION[2]) * 180) / Math.PI;

/** The place of the band, in metres down from the upper edge of the frame. */
interface GlossBand {
  readonly fromM: number;
  readonly toM: number;
}

/**
 * Seen square on, a flat piece mirrors a single direction, so gloss looks like matt. In this band, the viewer's
 * direction swings aside and back. The band therefore mirrors the studio from the lens to the middle of the key light
 * and back. Polish shows the light with its edges, satin a soft glow, matt hardly any. Only effects of the viewer's
 * direction change. Light, scale and the colour of a matt body are the same everywhere, and outside the band every
 * pixel is the same.
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
 * Rewrites a physical material's fragment shader, which may already be rewritten.
 * @param chunk three's chunk with the viewer's direction
 * @throws Error when the text in three differs
 */
export function addGlossBand(fragmentShader: string, chunk: string = ShaderChunk.lights_fragment_begin): string {
  const swung = replaceOnce(chunk, PLAIN, SWING, 'the chunk lights_fragment_begin');
  const shader = 'the physical fragment shader';
  const included = replaceOnce(fragmentShader, INCLUDE, swung, shader);
  return replaceOnce(included, MAIN, `uniform vec2 studioGloss;\n${MAIN}`, shader);
}

/** Adds the band to a material that is prepared for the studio; unlit materials have none. */
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
