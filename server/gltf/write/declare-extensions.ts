import { isSurfaceExtension, listExtensionsInUse } from '../document/extensions.ts';
import { type GltfJson, VARIANTS } from '../document/json.ts';
import type { MaterialDocument } from '../materials/material-spec.ts';

/**
 * Updates `extensionsUsed` and `extensionsRequired`: adds what new materials need, and removes extensions of materials and
 * textures that nothing uses any more. `KHR_materials_variants` is used but never required, so that viewers without it show
 * the default variant.
 */
export function declareExtensions(
  json: GltfJson,
  added: readonly MaterialDocument[],
  variants: readonly string[],
): void {
  const inUse = listExtensionsInUse(json);
  const keep = (name: string) => !isSurfaceExtension(name) || inUse.has(name);
  const all = [json, ...added.map((document) => document.json)];
  const used = new Set(all.flatMap(({ extensionsUsed = [] }) => extensionsUsed).filter(keep));
  const required = new Set(all.flatMap(({ extensionsRequired = [] }) => extensionsRequired).filter(keep));
  required.delete(VARIANTS);
  used.delete(VARIANTS);
  if (json.extensions) delete json.extensions[VARIANTS];
  if (variants.length > 0) {
    used.add(VARIANTS);
    json.extensions = { ...json.extensions, [VARIANTS]: { variants: variants.map((name) => ({ name })) } };
  }
  if (json.extensions && Object.keys(json.extensions).length === 0) delete json.extensions;
  setList(json, 'extensionsUsed', used);
  setList(json, 'extensionsRequired', required);
}

function setList(json: GltfJson, key: 'extensionsUsed' | 'extensionsRequired', names: ReadonlySet<string>): void {
  if (names.size > 0) json[key] = [...names];
  else delete json[key];
}
