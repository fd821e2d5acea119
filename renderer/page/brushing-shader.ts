import { ShaderChunk } from 'three';

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

/** Rewrites a physical material's fragment shader; without brushing it changes nothing that is compiled. */
export function turnBrushing(fragmentShader: string): string {
  return fragmentShader.replace(
    '#include <lights_physical_fragment>',
    ShaderChunk.lights_physical_fragment.replace('material.anisotropyT =', UPWARDS),
  );
}
