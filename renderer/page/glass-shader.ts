import { ShaderChunk, type WebGLRenderer } from 'three';
import { replaceOnce } from './replace-once.ts';

/**
 * Clear glass in a picture that may stand on any ground.
 *
 * three shows, through a transmissive surface, what it drew behind it, and where nothing was drawn a grey veil meant
 * for opaque pages. Here nothing stays nothing: the part of the ground that shines through, tinted, is expressed as
 * coverage plus colour, premultiplied in the picture's encoding, so that over white it looks like the glass on a white
 * table: colour − least channel is added, the least channel of the tint is left open.
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

/** three's pieces of shaders, by name. */
export type Chunks = Pick<typeof ShaderChunk, 'transmission_pars_fragment' | 'lights_physical_fragment'>;

/**
 * Rewrites a physical material's fragment shader; without transmission it changes nothing that is compiled.
 * @throws Error where three words it differently
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

/** three clears what is seen through glass to half-covered white; here to nothing, which {@link addGlass} expects. */
export function clearBehindGlass(renderer: WebGLRenderer): void {
  const setClearColor = renderer.setClearColor.bind(renderer);
  renderer.setClearColor = (color, alpha) => {
    if (color === 0xffffff && alpha === 0.5) setClearColor(0x000000, 0);
    else setClearColor(color, alpha);
  };
}
