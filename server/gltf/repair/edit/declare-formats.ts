import type { GltfJson } from '../../document/json.ts';

/** Extensions by which a texture shows an image of another format than PNG and JPEG. */
export const FORMATS = ['EXT_texture_webp', 'EXT_texture_avif', 'KHR_texture_basisu'] as const;

/**
 * Brings what is declared of image formats in line with the textures: used where one uses it, required where one has
 * nothing else to show, and neither where none does.
 */
export function declareFormats(json: GltfJson): void {
  for (const name of FORMATS) {
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
