import { ShaderChunk } from 'three';
import type { Chunks } from './glass-shader.ts';
import { replaceOnce } from './replace-once.ts';

/**
 * Turns brushing the way glTF means it on parts without tangents.
 *
 * Directions are counted from tangent to bitangent, which is up in the map (`KHR_materials_anisotropy`). Where three makes
 * the frame from UVs, its second axis goes where v grows, which is down: brushing of 30° came out at −30° (r187). Its
 * loader turns normal maps back, but not this.
 */
const UPWARDS = /* glsl */ `
#ifndef USE_TANGENT
  anisotropyV.y = - anisotropyV.y;
#endif
material.anisotropyT =`;

/**
 * Rewrites a physical material's fragment shader; without brushing it changes nothing that is compiled.
 * @throws Error where three words it differently
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
