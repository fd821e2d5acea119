import type { GltfJson } from './json.ts';

/**
 * Extensions whose references into the document (buffers, images, textures, materials, accessors) are known here, so that
 * bytes and indices can be accounted for. Anything else is passed through with the whole BIN chunk kept.
 */
const KNOWN = new Set([
  'KHR_materials_variants',
  'KHR_materials_anisotropy',
  'KHR_materials_clearcoat',
  'KHR_materials_diffuse_transmission',
  'KHR_materials_dispersion',
  'KHR_materials_emissive_strength',
  'KHR_materials_ior',
  'KHR_materials_iridescence',
  'KHR_materials_pbrSpecularGlossiness',
  'KHR_materials_sheen',
  'KHR_materials_specular',
  'KHR_materials_transmission',
  'KHR_materials_unlit',
  'KHR_materials_volume',
  'KHR_texture_basisu',
  'KHR_texture_transform',
  'KHR_draco_mesh_compression',
  'KHR_mesh_quantization',
  'KHR_meshopt_compression',
  'KHR_lights_punctual',
  'KHR_animation_pointer',
  'KHR_node_visibility',
  'KHR_xmp_json_ld',
  'EXT_meshopt_compression',
  'EXT_mesh_gpu_instancing',
  'EXT_texture_webp',
  'EXT_texture_avif',
]);

export function isKnownExtension(name: string): boolean {
  return KNOWN.has(name);
}

/** Extensions of materials and textures: declared only as long as something in the document still uses them. */
export function isSurfaceExtension(name: string): boolean {
  return /^(KHR_materials_|KHR_texture_|EXT_texture_)/.test(name);
}

/** Takes off the document's lists of extensions those that are not to be kept; glTF has no empty lists. */
export function filterDeclared(json: GltfJson, keep: (name: string) => boolean): void {
  for (const key of ['extensionsUsed', 'extensionsRequired'] as const) {
    const names = json[key]?.filter(keep);
    if (!names) continue;
    if (names.length > 0) json[key] = names;
    else delete json[key];
  }
}
