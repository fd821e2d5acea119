import { DRACO, type GltfJson, VARIANTS } from './json.ts';
import { listTextureUses } from './read-material.ts';

/** Arrays of the document that references by index point into. */
export const INDEXED = [
  'nodes',
  'meshes',
  'materials',
  'textures',
  'images',
  'samplers',
  'accessors',
  'bufferViews',
  'skins',
  'cameras',
] as const;
export type Indexed = (typeof INDEXED)[number];

/** One reference: the array and index it points at, the object that has it, and a way to change it. */
export interface Reference {
  readonly array: Indexed;
  readonly index: number;
  /** Null for scenes, animations and the document's own extensions, which nothing refers to. */
  readonly owner: { readonly array: Indexed; readonly index: number } | null;
  readonly set: (index: number) => void;
}

/**
 * Calls `visit` for every reference by index in the document and its known extensions. It cannot see references of unknown
 * extensions, so never renumber a document that has any.
 */
export function visitReferences(json: GltfJson, visit: (reference: Reference) => void): void {
  // biome-ignore lint/suspicious/noExplicitAny: references are in objects of many shapes
  type Holder = any;
  const at = (array: Indexed, holder: Holder, key: string | number, owner: Reference['owner']) => {
    const index = holder?.[key];
    if (typeof index !== 'number') return;
    visit({
      array,
      index,
      owner,
      set: (next) => {
        holder[key] = next;
      },
    });
  };
  const each = (array: Indexed, holder: Holder, owner: Reference['owner']) => {
    for (const key of Object.keys(holder ?? {})) at(array, holder, key, owner);
  };
  for (const scene of json.scenes ?? []) each('nodes', scene.nodes, null);
  json.nodes?.forEach((node, index) => {
    const owner = { array: 'nodes', index } as const;
    each('nodes', node.children, owner);
    at('meshes', node, 'mesh', owner);
    at('cameras', node, 'camera', owner);
    at('skins', node, 'skin', owner);
    each('accessors', node.extensions?.EXT_mesh_gpu_instancing?.attributes, owner);
  });
  json.meshes?.forEach((mesh, index) => {
    const owner = { array: 'meshes', index } as const;
    for (const primitive of mesh.primitives) {
      each('accessors', primitive.attributes, owner);
      at('accessors', primitive, 'indices', owner);
      for (const target of primitive.targets ?? []) each('accessors', target, owner);
      at('materials', primitive, 'material', owner);
      at('bufferViews', primitive.extensions?.[DRACO], 'bufferView', owner);
      const mappings = primitive.extensions?.[VARIANTS]?.mappings;
      if (Array.isArray(mappings)) for (const mapping of mappings) at('materials', mapping, 'material', owner);
    }
  });
  json.materials?.forEach((material, index) => {
    for (const { info } of listTextureUses(material)) at('textures', info, 'index', { array: 'materials', index });
  });
  json.textures?.forEach((texture, index) => {
    const owner = { array: 'textures', index } as const;
    at('images', texture, 'source', owner);
    at('samplers', texture, 'sampler', owner);
    for (const extension of Object.values(texture.extensions ?? {})) at('images', extension, 'source', owner);
  });
  json.images?.forEach((image, index) => {
    at('bufferViews', image, 'bufferView', { array: 'images', index });
  });
  json.accessors?.forEach((accessor, index) => {
    const owner = { array: 'accessors', index } as const;
    at('bufferViews', accessor, 'bufferView', owner);
    at('bufferViews', accessor.sparse?.indices, 'bufferView', owner);
    at('bufferViews', accessor.sparse?.values, 'bufferView', owner);
  });
  json.skins?.forEach((skin, index) => {
    const owner = { array: 'skins', index } as const;
    each('nodes', skin.joints, owner);
    at('nodes', skin, 'skeleton', owner);
    at('accessors', skin, 'inverseBindMatrices', owner);
  });
  for (const animation of json.animations ?? []) {
    for (const sampler of animation.samplers ?? []) {
      at('accessors', sampler, 'input', null);
      at('accessors', sampler, 'output', null);
    }
    for (const { target } of animation.channels ?? []) {
      at('nodes', target, 'node', null);
      const pointer = target?.extensions?.KHR_animation_pointer;
      if (pointer) visitPointer(pointer, visit);
    }
  }
}

/** An animation pointer names an object by its place: `/nodes/3/rotation`. */
function visitPointer(holder: Record<string, unknown>, visit: (reference: Reference) => void): void {
  const match = typeof holder.pointer === 'string' ? /^\/([a-zA-Z]+)\/(\d+)(\/.*)?$/.exec(holder.pointer) : null;
  if (!match || !(INDEXED as readonly string[]).includes(match[1]!)) return;
  visit({
    array: match[1] as Indexed,
    index: Number(match[2]),
    owner: null,
    set: (next) => {
      holder.pointer = `/${match[1]}/${next}${match[3] ?? ''}`;
    },
  });
}

export type IndexSets = Readonly<Record<Indexed, ReadonlySet<number>>>;
type MutableSets = Record<Indexed, Set<number>>;

export function makeIndexSets(): MutableSets {
  return Object.fromEntries(INDEXED.map((array) => [array, new Set<number>()])) as MutableSets;
}

/** The objects to which something refers. */
export function listReferred(json: GltfJson): IndexSets {
  const referred = makeIndexSets();
  visitReferences(json, ({ array, index }) => {
    referred[array].add(index);
  });
  return referred;
}
