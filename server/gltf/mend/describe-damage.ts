import type { GltfJson } from '../document/json.ts';
import { readName } from '../document/json.ts';
import type { Schema, Target } from './gltf-schema.ts';

/** The path of a property in a document. */
export type Place = readonly (string | number)[];

/** The object of each array in words. */
const ONE: Readonly<Record<string, string>> = {
  accessors: 'accessor',
  animations: 'animation',
  bufferViews: 'buffer view',
  buffers: 'buffer',
  cameras: 'camera',
  images: 'image',
  lights: 'light',
  materials: 'material',
  meshes: 'mesh',
  nodes: 'node',
  samplers: 'sampler',
  scenes: 'scene',
  skins: 'skin',
  textures: 'texture',
  variants: 'variant',
} satisfies Record<Target | string, string>;

/** Which object a path is in, and which of its properties it names, in words. */
export function describePlace(json: GltfJson, at: Place): { readonly place: string; readonly what: string } {
  const [array, index, ...rest] = at;
  const one = ONE[String(array)];
  if (one === undefined || typeof index !== 'number') return { place: 'the file', what: describeProperty(at) };
  const list = json[String(array)];
  const name = readName((Array.isArray(list) ? (list[index] as { name?: unknown } | null) : null)?.name).trim();
  return { place: name ? `${one} “${name.slice(0, 60)}”` : `${one} ${index}`, what: describeProperty(rest) };
}

/** Parts of a path that a person does not need; the index of a texture means the texture itself. */
const UNSPOKEN = new Set(['pbrMetallicRoughness', 'extensions', 'primitives', 'index']);

function describeProperty(path: Place): string {
  const words = path.flatMap((part, i) => {
    if (UNSPOKEN.has(String(part))) return [];
    if (typeof part !== 'number') return [toWords(part)];
    return path[i - 1] === 'primitives' ? [`primitive ${part}`] : [String(part)];
  });
  return words.join(', ').replace(/, (\d+)/g, ' $1');
}

/** “baseColorFactor” and “KHR_texture_transform” as words. */
function toWords(property: string): string {
  const plain = property.replace(/^[A-Z]{2,}_(?:materials_)?/, '').replaceAll('_', ' ');
  return plain
    .replace(/([a-z])([A-Z])/g, (_, before: string, after: string) => `${before} ${after.toLowerCase()}`)
    .replace(/\bcolor\b/g, 'colour')
    .slice(0, 60);
}

/** A value as a message quotes it. */
export function describeValue(value: unknown): string {
  if (typeof value === 'string') return `“${value.slice(0, 40)}”`;
  if (typeof value === 'number') return Number.isFinite(value) ? String(value) : 'a number too large to be written';
  if (Array.isArray(value)) {
    const isShort = value.length <= 4 && value.every((item) => typeof item === 'number' || typeof item === 'string');
    return isShort ? `[${value.map((item) => describeValue(item)).join(', ')}]` : `a list of ${value.length}`;
  }
  if (value === null || value === undefined) return 'empty';
  return typeof value === 'object' ? 'an object' : String(value);
}

/** The values that a schema allows, in words. */
export function describeSchema(schema: Schema): string {
  switch (schema.is) {
    case 'number':
      return `a number${describeRange(schema)}`;
    case 'numbers':
      return `${schema.length === undefined ? 'a list of numbers' : `${schema.length} numbers`}${describeRange(schema)}`;
    case 'whole':
      return 'a whole number of at least 0';
    case 'flag':
      return 'true or false';
    case 'text':
      return 'text';
    case 'choice':
      return `one of ${schema.of.join(', ')}`;
    case 'index':
      return `the index of ${/^[aeiou]/.test(schema.of) ? 'an' : 'a'} ${ONE[schema.of]}`;
    case 'list':
      return 'a list';
    default:
      return 'an object';
  }
}

function describeRange({
  min,
  max,
  above,
}: {
  readonly min?: number;
  readonly max?: number;
  readonly above?: number;
}): string {
  if (above !== undefined) return ` above ${above}`;
  if (min !== undefined && max !== undefined) return ` from ${min} to ${Number(max.toFixed(4))}`;
  return min === undefined ? '' : ` of at least ${min}`;
}
