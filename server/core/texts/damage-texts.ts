/** Objects of a glTF document, by their array. */
const OBJECTS = {
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
} as const;

type ObjectArray = keyof typeof OBJECTS;

/** Bounds of a number; `above` is exclusive. */
interface Range {
  readonly min?: number;
  readonly max?: number;
  readonly above?: number;
}

/** Values that a property may have, in words that follow “Expected:”. */
export const EXPECTED = {
  number: (range: Range) => `a number${describeRange(range)}`,
  numbers: (length: number | undefined, range: Range) =>
    `${length === undefined ? 'a list of numbers' : `${length} numbers`}${describeRange(range)}`,
  whole: 'a whole number of at least 0',
  flag: 'true or false',
  text: 'text',
  choice: (values: readonly (string | number)[]) => `one of ${values.join(', ')}`,
  index: (array: ObjectArray) => `the index of ${/^[aeiou]/.test(array) ? 'an' : 'a'} ${OBJECTS[array]}`,
  list: 'a list',
  object: 'an object',
  objectWith: (field: string) => `an object that has “${field}”`,
  value: 'a value',
  channels: 'channels to play',
  samplerData: 'times and values to play',
  playableSampler: 'the index of a sampler that can be played',
  uvSet: 'the number of a set of UVs that a part has',
  transform: 'a place and size a part can have',
  scene: 'a scene that lists what is to be shown',
  sceneChoice: (scenes: number) => `which of the ${scenes} scenes is to be shown`,
  declared: 'a list of every extension in use',
} as const;

/** What Dyeworks uses instead of a missing value. */
export const USED = { allRoots: 'every node that has no parent', firstScene: 'the first scene' } as const;

/**
 * Names the object that a path is in, and its property.
 * @param path property names and indices, such as `materials`, 0, `occlusionTexture`, `strength`
 * @param name the object's name, which may be empty
 */
export function describePlace(
  path: readonly (string | number)[],
  name: string,
): { readonly place: string; readonly what: string } {
  const [array, index, ...rest] = path;
  if (!isObjectArray(array) || typeof index !== 'number') return { place: 'the file', what: describeProperty(path) };
  const object = OBJECTS[array];
  return { place: name ? `${object} “${name.slice(0, 60)}”` : `${object} ${index}`, what: describeProperty(rest) };
}

function isObjectArray(array: unknown): array is ObjectArray {
  return typeof array === 'string' && Object.hasOwn(OBJECTS, array);
}

/** Parts of a path that a person does not need; the index of a texture means the texture itself. */
const UNSPOKEN = new Set(['pbrMetallicRoughness', 'extensions', 'primitives', 'index']);

function describeProperty(path: readonly (string | number)[]): string {
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

function describeRange({ min, max, above }: Range): string {
  if (above !== undefined) return ` above ${above}`;
  if (min !== undefined && max !== undefined) return ` from ${min} to ${Number(max.toFixed(4))}`;
  return min === undefined ? '' : ` of at least ${min}`;
}
