import type { GltfJson } from './json.ts';

/**
 * Extensions whose references into the document (buffers, images, textures, materials, accessors) this code knows, so that
 * it can account for every byte and index. With any other extension, the whole BIN chunk is kept.
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

/** Extensions of materials and textures. They are declared only while something in the document uses them. */
export function isSurfaceExtension(name: string): boolean {
  return /^(KHR_materials_|KHR_texture_|EXT_texture_)/.test(name);
}

/** Removes extensions from the document's two lists, and a list that becomes empty, which glTF does not allow. */
export function filterDeclared(json: GltfJson, keep: (name: string) => boolean): void {
  for (const key of ['extensionsUsed', 'extensionsRequired'] as const) {
    const names = json[key]?.filter(keep);
    if (!names) continue;
    if (names.length > 0) json[key] = names;
    else delete json[key];
  }
}

/** Names of the extensions that objects of the document have, at any depth, without those of the document itself. */
export function listExtensionsInUse(json: GltfJson): Set<string> {
  const names = new Set<string>();
  // the set grows while the loop runs: extensions may be nested deeper than recursion can go
  // a set, since hundreds of primitives may share one list of mappings
  const found = new Set<object>();
  const add = (value: unknown) => {
    if (typeof value === 'object' && value !== null) found.add(value);
  };
  for (const array of [json.materials, json.textures, json.images, json.meshes, json.nodes]) add(array);
  for (const value of found) {
    if (Array.isArray(value)) {
      for (const child of value) add(child);
      continue;
    }
    for (const [key, child] of Object.entries(value)) {
      if (key === 'extensions' && typeof child === 'object' && child !== null) {
        for (const name of Object.keys(child)) names.add(name);
      }
      if (key !== 'extras') add(child);
    }
  }
  return names;
}

/** Extensions that give a texture an image of a format other than PNG and JPEG. */
export const IMAGE_FORMATS = ['EXT_texture_webp', 'EXT_texture_avif', 'KHR_texture_basisu'] as const;

/**
 * Brings the declared image formats in line with the textures: used where a texture uses one, required where a texture has
 * no other source, and not declared where no texture uses it.
 */
export function declareImageFormats(json: GltfJson): void {
  for (const name of IMAGE_FORMATS) {
    const users = (json.textures ?? []).filter(({ extensions }) => extensions?.[name]);
    declare(json, 'extensionsUsed', name, users.length > 0);
    const required = json.extensionsRequired?.includes(name) ?? false;
    const bare = users.some(({ source }) => source === undefined);
    declare(json, 'extensionsRequired', name, users.length > 0 && (bare || required));
  }
}

function declare(json: GltfJson, key: 'extensionsUsed' | 'extensionsRequired', name: string, wanted: boolean): void {
  const others = (json[key] ?? []).filter((other) => other !== name);
  const names = !wanted ? others : json[key]?.includes(name) ? json[key] : [...others, name];
  if (names.length > 0) json[key] = names;
  else delete json[key];
}
