import { makeGlb, readGlb } from './glb.ts';
import { createRandom } from './random.ts';

/** A model with one unusual value in its JSON, or in its bytes; `what` says which. */
interface Mutation {
  readonly what: string;
  readonly glb: Buffer;
}

type Path = readonly (string | number)[];
type Tree = Record<string | number, unknown>;
type Random = ReturnType<typeof createRandom>;

/** Written literally: JSON has no infinity, and reads 1e999 as one (RFC 8259 §6 leaves it to the reader). */
const RAW_NUMBERS = ['1e999', '-1e999', '1e306', '-1e306', '1e39', '1e-320', '-0', '1E+2'];
const ODD = [
  null,
  -1,
  0,
  1,
  3,
  7,
  1e9,
  2 ** 31,
  2 ** 53,
  1.5,
  0.1,
  '',
  'x',
  '0',
  '1.5',
  'constructor',
  '__proto__',
  '/materials/0',
  'data:,',
  [],
  {},
  [null],
  [0, 0],
  [1, 2, 3, 4],
  ['a'],
  [[]],
  [[[0]]],
  true,
  false,
  { index: 0 },
  { index: 9e9 },
  { extensions: null },
  '\u0000',
  '𝄞'.repeat(300),
];

/** Values to insert where a model has none of the kind: by the array, or the property, that contains them. */
const SNIPPETS: readonly (readonly [under: string, key: string, values: readonly unknown[]])[] = [
  [
    'nodes',
    'extensions',
    [
      { KHR_lights_punctual: { light: 0 } },
      { KHR_lights_punctual: 'x' },
      { KHR_node_visibility: { visible: 'no' } },
      { EXT_mesh_gpu_instancing: { attributes: { TRANSLATION: 99 } } },
      { EXT_mesh_gpu_instancing: { attributes: 'x' } },
      { EXT_mesh_gpu_instancing: {} },
    ],
  ],
  [
    'nodes',
    'scale',
    [
      [1e306, 1e306, 1e306],
      [0, 0, 0],
      ['1', 1, 1],
      [1e30, 1, 1],
      [1e-30, 1, 1],
      [-1, 1, 1],
    ],
  ],
  ['nodes', 'matrix', [[1], new Array(16).fill(1e300), new Array(16).fill('1')]],
  [
    'nodes',
    'rotation',
    [
      [0, 0, 0, 0],
      [1e200, 0, 0, 1],
      [5, 5, 5, 5],
    ],
  ],
  [
    'nodes',
    'translation',
    [
      [1e306, 0, 0],
      [1e38, 1e38, 0],
      [1e20, 0, 0],
    ],
  ],
  ['nodes', 'name', [42, null, ['a'], {}]],
  ['nodes', 'weights', [[1], ['x'], 'x', [1e306]]],
  ['nodes', 'skin', [0, 9]],
  ['nodes', 'camera', [0, 9]],
  ['scenes', 'name', [42, null]],
  ['meshes', 'weights', [[1e306], ['x'], [], 3, [0, 0, 0]]],
  ['meshes', 'name', [42, {}]],
  [
    'materials',
    'normalTexture',
    [{ scale: 'x' }, { index: 0, scale: 'x' }, { index: 0, texCoord: 3 }, { index: 0, scale: 1e306 }, 5, []],
  ],
  [
    'materials',
    'occlusionTexture',
    [
      { index: 0, strength: 7 },
      { index: 0, texCoord: 1 },
      { index: 0, strength: 'x' },
      { index: 0, texCoord: 'x' },
      { index: 0, texCoord: -1 },
    ],
  ],
  ['materials', 'emissiveTexture', [{ index: 0, texCoord: 5 }, { index: '0' }]],
  ['materials', 'emissiveFactor', [[2, 2, 2], [1], 'x', [-1, 0, 0], [1e306, 0, 0]]],
  [
    'materials',
    'pbrMetallicRoughness',
    [
      { baseColorFactor: [1, 1, 1] },
      { baseColorFactor: [1e306, 2, -1, 5] },
      { metallicFactor: 'x', roughnessFactor: 9 },
      { baseColorTexture: {} },
      [],
    ],
  ],
  ['materials', 'alphaMode', ['MASK', 'BLEND', 'x', 5]],
  ['materials', 'alphaCutoff', [-1, 'x', 1e306]],
  ['materials', 'doubleSided', ['yes', 1, null]],
  ['materials', 'name', [42, null, {}, '']],
  [
    'materials',
    'extensions',
    [
      { KHR_materials_clearcoat: { clearcoatFactor: 'x', clearcoatTexture: { index: 99 } } },
      { KHR_materials_transmission: { transmissionFactor: 7 } },
      { KHR_materials_volume: { thicknessFactor: -1, attenuationDistance: 0, attenuationColor: 'x' } },
      { KHR_materials_sheen: { sheenColorFactor: [1] } },
      { KHR_materials_ior: { ior: 'x' } },
      { KHR_materials_ior: 5 },
      { KHR_materials_pbrSpecularGlossiness: { diffuseFactor: ['x'], diffuseTexture: { index: 0 } } },
      { KHR_materials_unlit: [] },
      { KHR_materials_emissive_strength: { emissiveStrength: -5 } },
      { KHR_materials_anisotropy: { anisotropyTexture: { index: 0 } } },
      { KHR_materials_iridescence: { iridescenceThicknessMinimum: 'x' } },
    ],
  ],
  ['textures', 'source', [99, '0', null]],
  ['textures', 'sampler', [99, '0', 0]],
  [
    'textures',
    'extensions',
    [
      { KHR_texture_basisu: { source: 0 } },
      { KHR_texture_basisu: {} },
      { EXT_texture_webp: { source: 99 } },
      { EXT_texture_webp: null },
    ],
  ],
  ['images', 'mimeType', ['image/jpeg', 'x', 5]],
  ['images', 'name', [42]],
  ['samplers', 'wrapS', [5, 'x', 10497]],
  ['samplers', 'minFilter', [5, 'x', 9729]],
  ['accessors', 'min', [['x', 0, 0], [1e306, 0, 0], []]],
  ['accessors', 'max', [['x', 0, 0], [1e306, 0, 0], []]],
  ['accessors', 'normalized', [true, 'x', 5]],
  ['accessors', 'componentType', [5121, 5123, 5125, 5126, 5120]],
  ['accessors', 'type', ['VEC2', 'VEC3', 'SCALAR', 'MAT4']],
  [
    'accessors',
    'sparse',
    [{ count: 1 }, { count: 1, indices: { bufferView: 0, componentType: 5121 }, values: { bufferView: 0 } }, 'x'],
  ],
  ['accessors', 'bufferView', [undefined, 0]],
  ['bufferViews', 'byteStride', [4, 12, 0]],
  ['bufferViews', 'target', [5, 'x', 34963]],
  ['primitives', 'mode', [0, 1, 5, 6, 'x']],
  ['primitives', 'targets', [[{ POSITION: 0 }], [{}], [{ POSITION: 99 }], 'x']],
  [
    'primitives',
    'extensions',
    [
      { KHR_draco_mesh_compression: { bufferView: 0, attributes: { POSITION: 0 } } },
      { KHR_draco_mesh_compression: { bufferView: 0 } },
      { KHR_materials_variants: { mappings: [{ material: 99, variants: [0] }] } },
      { KHR_materials_variants: { mappings: 'x' } },
      { KHR_materials_variants: { mappings: [{ material: 0, variants: ['x', 0, 0] }, null] } },
    ],
  ],
  [
    'channels',
    'target',
    [
      {},
      { node: 99, path: 'scale' },
      { node: 0, path: 'x' },
      { node: 0, path: 'weights' },
      { path: 'pointer', extensions: { KHR_animation_pointer: { pointer: '/materials/99/x' } } },
      'x',
    ],
  ],
  ['channels', 'sampler', [99, -1, 'x']],
  ['samplers', 'interpolation', ['CUBICSPLINE', 'x', 5]],
  ['skins', 'skeleton', [99, 'x']],
  ['skins', 'joints', [[], [0, 0], [99], 'x']],
  ['skins', 'inverseBindMatrices', [99, 0, 'x']],
  ['cameras', 'type', ['x', 'orthographic']],
  ['cameras', 'perspective', [{}, { yfov: 'x', znear: 0 }]],
  ['lights', 'type', ['x', 'spot', 5]],
  ['lights', 'color', [[9], 'x']],
  ['variants', 'name', [42, null, '']],
  ['mappings', 'variants', [[0, 0], [99], 'x', []]],
  ['', 'scene', [undefined, 99, 'x', 1]],
  ['', 'scenes', [undefined, [], [{}], [{ nodes: [] }], [{ nodes: 'x' }], [{ nodes: [0, 0] }]]],
  [
    '',
    'extensions',
    [
      { KHR_lights_punctual: { lights: [{ type: 'x' }, 'x'] } },
      { KHR_lights_punctual: {} },
      { KHR_materials_variants: { variants: [{ name: 5 }, null, {}] } },
      { KHR_materials_variants: {} },
    ],
  ],
  [
    '',
    'animations',
    [
      [{ channels: [{ sampler: 0, target: { node: 0, path: 'translation' } }], samplers: [{ input: 0, output: 0 }] }],
      [{ channels: [], samplers: [] }],
      [{}],
    ],
  ],
  ['', 'cameras', [[{}], [{ type: 'perspective' }]]],
  ['', 'skins', [[{ joints: [] }], [{}], [{ joints: [0] }]]],
  ['', 'extensionsUsed', [[], ['KHR_texture_basisu'], ['x', 'x'], [''], 'x']],
  ['', 'extensionsRequired', [['KHR_texture_basisu'], ['ACME_unknown'], []]],
  [
    '',
    'asset',
    [{ version: '2.0', generator: 5, copyright: {} }, { version: '2.1' }, { version: '2.0', extras: [[[[[]]]]] }],
  ],
];

const TRANSFORM = [
  { offset: 'x' },
  { scale: [1e306, 1] },
  { rotation: 'x' },
  { texCoord: 7 },
  { offset: [1], scale: [0, 0] },
  'x',
  { rotation: 1e306, scale: ['1', 2], offset: [null, null] },
];

/** Makes `count` mutations of a model; the same number gives the same ones. */
export function* mutateModel(model: Uint8Array, start: number, count: number): Generator<Mutation> {
  const random = createRandom(start);
  const { json, bin } = readGlb(model);
  for (let i = 0; i < count; i++) {
    const copy = structuredClone(json) as unknown as Tree;
    const said: string[] = [];
    const bytes = Buffer.from(bin);
    const rounds = random.next() < 0.8 ? 1 : 2 + random.whole(3);
    for (let round = 0; round < rounds; round++) said.push(mutate(copy, bytes, random));
    const text = JSON.stringify(copy).replace(/"@raw:([^"]+)"/g, '$1');
    yield { what: said.join('; '), glb: makeGlb(text, bytes.length > 0 ? bytes : null) };
  }
}

function mutate(json: Tree, bin: Buffer, random: Random): string {
  const paths = listPaths(json).filter((path) => path.length > 0);
  const path = random.pick(paths);
  const kind = random.next();
  if (kind < 0.35) return addSnippet(json, paths, random);
  if (kind < 0.4) return addTransform(json, paths, random);
  if (kind < 0.55) return put(json, path, random.pick(ODD));
  if (kind < 0.65) return put(json, numberPath(json, paths, random) ?? path, `@raw:${random.pick(RAW_NUMBERS)}`);
  if (kind < 0.77) {
    const { at, key } = reach(json, path);
    if (Array.isArray(at)) at.splice(key as number, 1);
    else delete at[key];
    return `without ${path.join('/')}`;
  }
  if (kind < 0.84) {
    const list = random.pick(paths.filter((at) => Array.isArray(get(json, at))));
    const value = get(json, list) as unknown[];
    if (random.next() < 0.5) value.push(structuredClone(value[random.whole(value.length || 1)] ?? null));
    else value.length = random.whole(value.length + 1);
    return `${list.join('/')} has ${value.length} items`;
  }
  if (kind < 0.92) {
    const at = numberPath(json, paths, random) ?? path;
    const value = get(json, at);
    const changed = random.pick([1, -1, 1000, 0.5]);
    return put(json, at, typeof value === 'number' ? (random.next() < 0.3 ? String(value) : value + changed) : changed);
  }
  if (bin.length < 4) return put(json, path, null);
  const at = random.whole(bin.length >> 2) * 4;
  const value = random.pick([Number.NaN, Infinity, 3e38, 1e-40, 0]);
  bin.writeFloatLE(value, at);
  return `${value} at byte ${at}`;
}

function addSnippet(json: Tree, paths: readonly Path[], random: Random): string {
  const [under, key, values] = random.pick(SNIPPETS);
  const places =
    under === ''
      ? [[] as Path]
      : paths.filter((path) => path.at(-2) === under && typeof path.at(-1) === 'number' && isObject(get(json, path)));
  if (places.length === 0) return put(json, random.pick(paths), random.pick(ODD));
  const place = random.pick(places);
  const value = random.pick(values);
  const old = get(json, [...place, key]);
  const isMerge = random.next() < 0.5 && isObject(old) && isObject(value);
  return put(json, [...place, key], isMerge ? { ...old, ...value } : value);
}

function addTransform(json: Tree, paths: readonly Path[], random: Random): string {
  const places = paths.filter((path) => /texture$/i.test(String(path.at(-1))) && isObject(get(json, path)));
  if (places.length === 0) return put(json, random.pick(paths), random.pick(ODD));
  return put(json, [...random.pick(places), 'extensions'], { KHR_texture_transform: random.pick(TRANSFORM) });
}

function numberPath(json: Tree, paths: readonly Path[], random: Random): Path | null {
  const numbers = paths.filter((path) => typeof get(json, path) === 'number');
  return numbers.length > 0 ? random.pick(numbers) : null;
}

function put(json: Tree, path: Path, value: unknown): string {
  const { at, key } = reach(json, path);
  at[key] = value === null || value === undefined ? value : structuredClone(value);
  return `${path.join('/')} = ${(JSON.stringify(value) ?? 'undefined').slice(0, 60)}`;
}

function reach(json: Tree, path: Path): { at: Tree; key: string | number } {
  let at = json;
  for (const key of path.slice(0, -1)) at = at[key] as Tree;
  return { at, key: path.at(-1)! };
}

const get = (json: Tree, path: Path): unknown =>
  path.reduce<unknown>((at, key) => (at as Tree | undefined)?.[key], json);

const isObject = (value: unknown): value is Tree =>
  typeof value === 'object' && value !== null && !Array.isArray(value);

function listPaths(value: unknown, at: Path = []): Path[] {
  if (typeof value !== 'object' || value === null) return [at];
  const entries = Array.isArray(value) ? value.map((child, i) => [i, child] as const) : Object.entries(value);
  return [at, ...entries.flatMap(([key, child]) => listPaths(child, [...at, key]))];
}
