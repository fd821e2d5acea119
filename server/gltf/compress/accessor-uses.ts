import { DRACO, type GltfJson, type PrimitiveJson, TRIANGLES } from '../document/json.ts';

/** What an accessor is for, as far as compression treats it differently. */
export type AccessorUse = 'position' | 'normal' | 'tangent' | 'uv' | 'indices' | 'attribute' | 'kept';

/**
 * The use of each accessor of the geometry. `kept`: it stays as it is, since it has several uses, belongs to morph targets,
 * animations or instances, has sparse values, or its bytes are not in the file.
 */
export function listAccessorUses(json: GltfJson): Map<number, AccessorUse> {
  const uses = new Map<number, AccessorUse>();
  const add = (index: unknown, use: AccessorUse) => {
    if (typeof index !== 'number') return;
    const known = uses.get(index);
    uses.set(index, known === undefined || known === use ? use : 'kept');
  };
  for (const { primitives } of json.meshes ?? []) {
    for (const primitive of primitives) {
      for (const [name, index] of Object.entries(primitive.attributes)) add(index, useOf(name, primitive));
      add(primitive.indices, (primitive.mode ?? TRIANGLES) === TRIANGLES ? 'indices' : 'kept');
      for (const target of primitive.targets ?? []) for (const index of Object.values(target)) add(index, 'kept');
    }
  }
  for (const { inverseBindMatrices } of json.skins ?? []) add(inverseBindMatrices, 'kept');
  for (const { extensions } of json.nodes ?? []) {
    for (const index of Object.values(extensions?.EXT_mesh_gpu_instancing?.attributes ?? {})) add(index, 'kept');
  }
  for (const { samplers = [] } of json.animations ?? []) {
    for (const { input, output } of samplers) for (const index of [input, output]) add(index, 'kept');
  }
  json.accessors?.forEach(({ bufferView, sparse, count }, index) => {
    if (bufferView === undefined || sparse || count === 0 || json.bufferViews![bufferView]!.buffer !== 0) {
      uses.set(index, 'kept');
    }
  });
  return uses;
}

/** A primitive in Draco that could not be unpacked keeps all its accessors. */
function useOf(name: string, { extensions, targets }: PrimitiveJson): AccessorUse {
  if (extensions?.[DRACO]) return 'kept';
  if (name === 'POSITION') return 'position';
  // morph targets are added to these, in the same type
  if (name === 'NORMAL') return targets?.some((target) => 'NORMAL' in target) ? 'kept' : 'normal';
  if (name === 'TANGENT') return targets?.some((target) => 'TANGENT' in target) ? 'kept' : 'tangent';
  return name.startsWith('TEXCOORD_') ? 'uv' : 'attribute';
}

const FLOAT = 5126;

/** Whether an accessor has plain floats: integers have been quantised before. */
export function isFloat({ accessors }: GltfJson, index: number): boolean {
  return accessors![index]!.componentType === FLOAT;
}
