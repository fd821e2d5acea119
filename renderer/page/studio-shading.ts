import {
  LinearMipmapLinearFilter,
  type Material,
  Matrix4,
  type MeshBasicMaterial,
  type MeshPhysicalMaterial,
  type MeshStandardMaterial,
  NearestFilter,
  ShaderLib,
  Texture,
  Vector2,
  Vector3,
  Vector4,
  type WebGLProgramParametersWithUniforms,
} from 'three';
import { addGlass, addGlossBand, type Chunks, replaceOnce, turnBrushing } from './change-shaders.ts';

/** More than eight give no visible gain at the studio's angles, and software GL pays for every tap. */
const MAX_ANISOTROPY = 8;

/**
 * Prepares a loaded material for the studio: shadows, clean minification, unchanged unlit colours.
 * @param uniforms null for objects without shade
 */
export function prepareMaterial(
  material: Material,
  uniforms: OcclusionUniforms | null,
  deviceAnisotropy: number,
): void {
  if ((material as MeshStandardMaterial).isMeshStandardMaterial) addStudioShading(material, uniforms);
  // An unlit material states the visible colour, not a reflectance.
  if ((material as MeshBasicMaterial).isMeshBasicMaterial) {
    material.toneMapped = false;
    keepDepthOf(material);
  }
  for (const texture of listTextures(material)) {
    const anisotropy = Math.min(MAX_ANISOTROPY, deviceAnisotropy);
    const smooth = texture.magFilter !== NearestFilter && (texture.mipmaps?.length ?? 0) <= 1;
    const filtered = !smooth || (texture as { isCompressedTexture?: boolean }).isCompressedTexture === true;
    if (texture.anisotropy === anisotropy && (filtered || texture.minFilter === LinearMipmapLinearFilter)) continue;
    texture.anisotropy = anisotropy;
    if (!filtered) {
      // Files for games may omit mipmaps to save memory, but a still would shimmer.
      texture.minFilter = LinearMipmapLinearFilter;
      texture.generateMipmaps = true;
    }
    texture.needsUpdate = true;
  }
}

export function listTextures(material: Material): readonly Texture[] {
  return Object.values(material).filter(
    (value): value is Texture => value instanceof Texture && !value.isRenderTargetTexture,
  );
}

/** How a material stops light: fully, except through the holes of its map, or hardly at all (glass, thin films). */
type Cast = 'solid' | 'holes' | 'none';

export function getCast(material: Material): Cast {
  const physical = material as MeshPhysicalMaterial;
  if (physical.transmission > 0.5 || (material.transparent && material.opacity < 0.5)) return 'none';
  if (physical.map && (material.alphaTest > 0 || material.transparent)) return 'holes';
  return 'solid';
}

/** Maximum of tiles in a page of depth maps; the loop in the shader has this length. */
const MAX_TILES = 16;

/**
 * Uniforms that all studio materials share by reference: a change of a value applies to every program. Without tiles and
 * floor there is no shade.
 */
export interface OcclusionUniforms {
  readonly studioTiles: { value: number };
  readonly studioDepth: { value: Texture | null };
  /** World to tile: x, y in the page's texture space, z in depth, all 0–1. */
  readonly studioTileMatrix: { value: Matrix4[] };
  /** Unit vectors towards the light, world space. */
  readonly studioTileDirection: { value: Vector3[] };
  /** x: offset along the normal in metres, y: depth bias in depth units. */
  readonly studioBias: { value: Vector2 };
  /** xyz: centre of the floor map on the floor, w: its half size in metres; 0 when there is no floor. */
  readonly studioFloor: { value: Vector4 };
  /** Weight of the floor's light, in units of one tile's. */
  readonly studioFloorWeight: { value: number };
  /** Red: share of light that the floor gets, 1 without shade; with mipmaps. */
  readonly studioFloorMap: { value: Texture | null };
}

export function createOcclusionUniforms(): OcclusionUniforms {
  return {
    studioTiles: { value: 0 },
    studioDepth: { value: null },
    studioTileMatrix: { value: Array.from({ length: MAX_TILES }, () => new Matrix4()) },
    studioTileDirection: { value: Array.from({ length: MAX_TILES }, () => new Vector3(0, 1, 0)) },
    studioBias: { value: new Vector2() },
    studioFloor: { value: new Vector4() },
    studioFloorWeight: { value: 0 },
    studioFloorMap: { value: null },
  };
}

/**
 * Gives a vertex exactly the same depth in every program. Compilers may evaluate the same expression differently in two
 * programs. Of coplanar parts the later one is visible. With different depths, the other would show through in patches
 * when a layer holds one out.
 */
function keepDepth(shader: Pick<WebGLProgramParametersWithUniforms, 'vertexShader'>): void {
  shader.vertexShader = `invariant gl_Position;\n${shader.vertexShader}`;
}

const kept = new WeakSet<Material>();

/** The same for a material whose shader has no other change. */
export function keepDepthOf(material: Material): void {
  if (kept.has(material)) return;
  kept.add(material);
  material.onBeforeCompile = keepDepth;
  material.customProgramCacheKey = () => 'keeps depth';
  material.needsUpdate = true;
}

/** Declarations and the visibility of one page of light directions. */
export const OCCLUSION_DECLARATIONS = /* glsl */ `
uniform int studioTiles;
uniform highp sampler2DShadow studioDepth;
uniform mat4 studioTileMatrix[${MAX_TILES}];
uniform vec3 studioTileDirection[${MAX_TILES}];
uniform vec2 studioBias;
uniform vec4 studioFloor;
uniform float studioFloorWeight;
uniform sampler2D studioFloorMap;

// x: light that arrives, y: light that would arrive in the open; both over the page's directions
vec2 studioSky( vec3 position, vec3 facet, vec3 normal ) {
  vec2 sum = vec2( 0.0 );
  for ( int i = 0; i < ${MAX_TILES}; i ++ ) {
    if ( i >= studioTiles ) break;
    vec3 direction = studioTileDirection[ i ];
    float cosine = dot( normal, direction );
    if ( cosine <= 0.0 ) continue;
    // the flatter the light, the more a step of the depth map rises above the surface
    vec3 lifted = position + facet * ( studioBias.x * ( 2.0 - abs( dot( facet, direction ) ) ) );
    vec3 place = ( studioTileMatrix[ i ] * vec4( lifted, 1.0 ) ).xyz;
    sum += cosine * vec2( texture( studioDepth, vec3( place.xy, place.z - studioBias.y ) ), 1.0 );
  }
  return sum;
}
`;

/** Share of the ambient light that reaches a point of the product: from the sky by depth maps, from the floor by its own map. */
const VISIBILITY = /* glsl */ `
float studioVisibility( vec3 position, vec3 facet, vec3 normal ) {
  if ( studioTiles == 0 ) return 1.0;
  vec2 sum = studioSky( position, facet, normal );
  float share = studioFloorWeight * 0.5 * ( 1.0 - normal.y );
  float floorLight = 1.0;
  if ( studioFloor.w > 0.0 ) {
    // the higher the point, the wider the patch of floor that lights it
    float height = max( position.y - studioFloor.y, 0.0 );
    float texel = 2.0 * studioFloor.w / float( textureSize( studioFloorMap, 0 ).x );
    vec2 place = ( position.xz - studioFloor.xz ) / ( 2.0 * studioFloor.w ) + 0.5;
    floorLight = textureLod( studioFloorMap, clamp( place, 0.0, 1.0 ), log2( max( height * 1.5 / texel, 1.0 ) ) ).r;
  }
  sum += share * vec2( floorLight, 1.0 );
  return sum.y > 0.0 ? sum.x / sum.y : 1.0;
}
`;

/**
 * Replaces three's occlusion map by the smaller of the model's own map and the studio's measurement, because both
 * describe the same hollows. It applies before the tone curve and depends only on geometry, never on a finish.
 */
const APPLY = /* glsl */ `
float ambientOcclusion = 1.0;
#ifdef USE_AOMAP
  ambientOcclusion = ( texture2D( aoMap, vAoMapUv ).r - 1.0 ) * aoMapIntensity + 1.0;
#endif
{
  vec3 studioPosition = ( ( vec4( geometryPosition, 1.0 ) - viewMatrix[ 3 ] ) * viewMatrix ).xyz;
  vec3 studioFacet = transformNormalByInverseViewMatrix( nonPerturbedNormal, viewMatrix );
  vec3 studioNormal = transformNormalByInverseViewMatrix( normal, viewMatrix );
  ambientOcclusion = min( ambientOcclusion, studioVisibility( studioPosition, studioFacet, studioNormal ) );
}
reflectedLight.indirectDiffuse *= ambientOcclusion;
#ifdef USE_CLEARCOAT
  clearcoatSpecularIndirect *= ambientOcclusion;
#endif
#ifdef USE_SHEEN
  sheenSpecularIndirect *= ambientOcclusion;
#endif
#ifdef USE_ENVMAP
  reflectedLight.indirectSpecular *=
    computeSpecularOcclusion( saturate( dot( geometryNormal, geometryViewDir ) ), ambientOcclusion, material.roughness );
#endif
`;

/**
 * Rewrites a physical material's fragment shader.
 * @param isInOpen without shadows
 * @throws Error when the text in three differs
 */
export function rewriteShading(fragmentShader: string, isInOpen: boolean, chunks?: Chunks): string {
  const shading = turnBrushing(addGlass(fragmentShader, chunks), chunks);
  if (isInOpen) return shading;
  const shader = 'the physical fragment shader';
  const main = 'void main() {';
  const declared = replaceOnce(shading, main, `${OCCLUSION_DECLARATIONS}${VISIBILITY}\n${main}`, shader);
  return replaceOnce(declared, '#include <aomap_fragment>', APPLY, shader);
}

/**
 * Adds shadows, clear glass and the file's direction of brushing to a standard or physical material. Without uniforms there is
 * no shade, and the program lacks its code. Safe to call twice.
 */
export function addStudioShading(material: Material, uniforms: OcclusionUniforms | null): void {
  if (material.userData.studio === uniforms) return;
  material.userData.studio = uniforms;
  material.onBeforeCompile = (shader) => {
    keepDepth(shader);
    shader.fragmentShader = rewriteShading(shader.fragmentShader, uniforms === null);
    if (uniforms) Object.assign(shader.uniforms, uniforms);
  };
  material.customProgramCacheKey = () => (uniforms ? 'studio' : 'studio in the open');
  material.needsUpdate = true;
}

/**
 * Tries all changes of three's shaders, when the page is built and each time a studio opens.
 * @throws Error that names the change that no longer fits
 */
export function checkShaders(chunks?: Chunks, fragmentShader: string = ShaderLib.physical.fragmentShader): void {
  for (const isInOpen of [true, false]) addGlossBand(rewriteShading(fragmentShader, isInOpen, chunks));
}
