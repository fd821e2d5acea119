import { isSurfaceExtension, listExtensionsInUse } from '../document/extensions.ts';
import { type GltfJson, VARIANTS } from '../document/json.ts';

/**
 * Brings `extensionsUsed` and `extensionsRequired` in line with the document: what the kits brought is added, surface
 * extensions that nothing uses any more are taken off, and the variants extension is used but never required, since
 * falling back is its point.
 */
export function declareExtensions(json: GltfJson, kits: readonly GltfJson[], variants: readonly string[]): void {
  const inUse = listExtensionsInUse(json);
  const keep = (name: string) => !isSurfaceExtension(name) || inUse.has(name);
  const all = [json, ...kits];
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
