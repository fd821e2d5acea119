import type { GltfJson } from '../document/json.ts';
import { readName } from '../document/read-names.ts';
import type { Place } from './mend-values.ts';
import type { Shape, Target } from './shape.ts';

/** One of each array's objects, in words. */
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

/** Which object a place is in, and which of its properties it is, for a person. */
export function sayPlace(json: GltfJson, at: Place): { readonly place: string; readonly what: string } {
  const [array, index, ...rest] = at;
  const one = ONE[String(array)];
  if (one === undefined || typeof index !== 'number') return { place: 'the file', what: sayProperty(at) };
  const list = json[String(array)];
  const name = readName((Array.isArray(list) ? (list[index] as { name?: unknown } | null) : null)?.name).trim();
  return { place: name ? `${one} “${name.slice(0, 60)}”` : `${one} ${index}`, what: sayProperty(rest) };
}

/** Groups that say nothing to a person, and the index of a texture, by which the texture itself is meant. */
const SILENT = new Set(['pbrMetallicRoughness', 'extensions', 'primitives', 'index']);

function sayProperty(path: Place): string {
  const words = path.flatMap((part, i) => {
    if (SILENT.has(String(part))) return [];
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

/** What belongs in a place, in words. */
export function sayShape(shape: Shape): string {
  switch (shape.is) {
    case 'number':
      return `a number${sayRange(shape)}`;
    case 'numbers':
      return `${shape.length === undefined ? 'a list of numbers' : `${shape.length} numbers`}${sayRange(shape)}`;
    case 'whole':
      return 'a whole number of at least 0';
    case 'flag':
      return 'true or false';
    case 'text':
      return 'text';
    case 'choice':
      return `one of ${shape.of.join(', ')}`;
    case 'index':
      return `the index of ${/^[aeiou]/.test(shape.of) ? 'an' : 'a'} ${ONE[shape.of]}`;
    case 'list':
      return 'a list';
    default:
      return 'an object';
  }
}

function sayRange({
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
