import { isKnownExtension, listExtensionsInUse } from '../document/extensions.ts';
import type { GltfJson } from '../document/json.ts';
import type { Mender } from './mend-values.ts';

/** Declares known extensions that the file uses without saying so: viewers may skip what is not declared. */
export function mendDeclared(json: GltfJson, mender: Mender): GltfJson {
  const used = readNames(json.extensionsUsed);
  const required = readNames(json.extensionsRequired);
  if (used === null || required === null) return json;
  const inUse = [...listExtensionsInUse(json), ...Object.keys(json.extensions ?? {})].filter(isKnownExtension);
  const all = [...new Set([...used, ...required, ...inUse])];
  const missing = all.filter((name) => !used.includes(name));
  for (const name of missing)
    mender.note('undeclared-extension', ['extensionsUsed'], name, 'a list of every extension in use', name);
  return missing.length > 0 ? { ...json, extensionsUsed: all } : json;
}

/** Null for what is no list of names, which is refused later. */
function readNames(value: unknown): readonly string[] | null {
  if (value === undefined) return [];
  return Array.isArray(value) && value.every((name) => typeof name === 'string') ? value : null;
}
