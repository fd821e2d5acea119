import {
  LinearMipmapLinearFilter,
  type Material,
  type MeshBasicMaterial,
  type MeshPhysicalMaterial,
  type MeshStandardMaterial,
  NearestFilter,
  Texture,
} from 'three';
import type { OcclusionUniforms } from './occlusion-shader.ts';
import { addStudioShading, keepDepthOf } from './occlusion-shader.ts';

/** Beyond eight the eye sees no gain at the studio's angles, while software GL pays for every tap. */
const MAX_ANISOTROPY = 8;

/**
 * Makes a loaded material fit for the studio: its shadows, clean minification, unlit colours left as they are.
 * `uniforms` null: the thing stands in the open.
 */
export function prepareMaterial(
  material: Material,
  uniforms: OcclusionUniforms | null,
  deviceAnisotropy: number,
): void {
  if ((material as MeshStandardMaterial).isMeshStandardMaterial) addStudioShading(material, uniforms);
  // an unlit material states the colour to be seen, not a reflectance
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
      // a file may ask for no mipmaps to save memory in a game; a still would shimmer
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

/** How a material stops light: `solid`, by the holes of its map, or hardly at all (glass, thin films). */
export type Cast = 'solid' | 'holes' | 'none';

export function getCast(material: Material): Cast {
  const physical = material as MeshPhysicalMaterial;
  if (physical.transmission > 0.5 || (material.transparent && material.opacity < 0.5)) return 'none';
  if (physical.map && (material.alphaTest > 0 || material.transparent)) return 'holes';
  return 'solid';
}
