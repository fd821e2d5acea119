import { Problem } from '../../core/problems.ts';
import { MODEL_PROBLEMS } from '../../core/texts/problems/model.ts';
import { COMPONENT_BYTES, DRACO, type GltfJson, MESHOPT, TYPE_COMPONENTS } from '../document/json.ts';
import { listTextureUses } from '../document/read-material.ts';

/** No product model has more objects; to visit them would block the worker. */
const OBJECT_LIMIT = 4_000_000;
const ARRAYS = [
  'accessors',
  'animations',
  'buffers',
  'bufferViews',
  'cameras',
  'images',
  'materials',
  'meshes',
  'nodes',
  'samplers',
  'scenes',
  'skins',
  'textures',
] as const;

type Loose = Record<string, unknown>;

/**
 * Checks the structure on which all other code relies: arrays hold objects, every reference has a target, every accessor is
 * inside its view and every view inside its buffer, and nodes form trees. The validator checks the rest.
 * @throws Problem `model-broken-reference`, `model-too-complex`
 */
export function checkStructure(json: GltfJson): void {
  const root = json as unknown as Loose;
  let objects = 0;
  for (const key of ARRAYS) {
    const list = root[key];
    if (list === undefined) continue;
    if (!Array.isArray(list) || list.some((item) => typeof item !== 'object' || item === null || Array.isArray(item))) {
      broken(`/${key}`, 'a list of objects', typeof list);
    }
    objects += (list as unknown[]).length;
  }
  if (objects > OBJECT_LIMIT) {
    throw new Problem('model-too-complex', {
      detail: MODEL_PROBLEMS['model-too-complex'].objects(objects, OBJECT_LIMIT),
      expected: OBJECT_LIMIT,
      received: objects,
    });
  }
  optionalObject(root.extensions, '/extensions');
  for (const key of ['extensionsUsed', 'extensionsRequired'] as const) {
    if (
      root[key] !== undefined &&
      !(Array.isArray(root[key]) && (root[key] as unknown[]).every((x) => typeof x === 'string'))
    ) {
      broken(`/${key}`, 'a list of names', typeof root[key]);
    }
  }
  reference(root, json.scene, 'scenes', '/scene');
  json.scenes?.forEach((scene, i) => {
    references(root, scene.nodes, 'nodes', `/scenes/${i}/nodes`);
  });
  checkNodes(json);
  checkMeshes(json);
  checkSurfaces(json);
  checkBuffers(json);
  checkAccessors(json);
  json.animations?.forEach((animation, i) => {
    const samplers = list(animation.samplers, `/animations/${i}/samplers`);
    samplers.forEach((sampler, j) => {
      reference(root, sampler.input, 'accessors', `/animations/${i}/samplers/${j}/input`);
      reference(root, sampler.output, 'accessors', `/animations/${i}/samplers/${j}/output`);
    });
    list(animation.channels, `/animations/${i}/channels`);
  });
  json.skins?.forEach((skin, i) => {
    references(root, skin.joints, 'nodes', `/skins/${i}/joints`);
    reference(root, skin.inverseBindMatrices, 'accessors', `/skins/${i}/inverseBindMatrices`);
  });
}

function checkNodes(json: GltfJson): void {
  const root = json as unknown as Loose;
  const nodes = json.nodes ?? [];
  const parents = new Int32Array(nodes.length).fill(-1);
  nodes.forEach((node, i) => {
    reference(root, node.mesh, 'meshes', `/nodes/${i}/mesh`);
    reference(root, node.camera, 'cameras', `/nodes/${i}/camera`);
    reference(root, node.skin, 'skins', `/nodes/${i}/skin`);
    references(root, node.children, 'nodes', `/nodes/${i}/children`);
    numbers(node.matrix, 16, `/nodes/${i}/matrix`);
    numbers(node.translation, 3, `/nodes/${i}/translation`);
    numbers(node.rotation, 4, `/nodes/${i}/rotation`);
    numbers(node.scale, 3, `/nodes/${i}/scale`);
    optionalObject(node.extensions, `/nodes/${i}/extensions`);
    for (const child of node.children ?? []) {
      if (parents[child] !== -1 && parents[child] !== i)
        broken(`/nodes/${i}/children`, 'a node with one parent', child);
      parents[child] = i;
    }
  });
  // each node has at most one parent, so a cycle is found by walking up no further than there are nodes
  const settled = new Uint8Array(nodes.length);
  nodes.forEach((_, start) => {
    const path: number[] = [];
    for (let at = start; at !== -1 && settled[at] !== 1; at = parents[at]!) {
      if (settled[at] === 2) broken(`/nodes/${start}`, 'nodes that form a tree', 'a circle of nodes');
      settled[at] = 2;
      path.push(at);
    }
    for (const at of path) settled[at] = 1;
  });
}

function checkMeshes(json: GltfJson): void {
  const root = json as unknown as Loose;
  json.meshes?.forEach((mesh, i) => {
    if (mesh.primitives === undefined) broken(`/meshes/${i}/primitives`, 'a list of primitives', undefined);
    list(mesh.primitives, `/meshes/${i}/primitives`).forEach((primitive, j) => {
      const at = `/meshes/${i}/primitives/${j}`;
      if (typeof primitive.attributes !== 'object' || primitive.attributes === null) {
        broken(`${at}/attributes`, 'attributes', primitive.attributes);
      }
      const sets = [primitive.attributes, ...list(primitive.targets, `${at}/targets`)];
      sets.forEach((attributes, k) => {
        if (typeof attributes !== 'object' || attributes === null) broken(`${at}/attributes`, 'attributes', attributes);
        for (const [name, accessor] of Object.entries(attributes)) {
          reference(root, accessor, 'accessors', `${at}/${k === 0 ? 'attributes' : `targets/${k - 1}`}/${name}`, true);
        }
      });
      reference(root, primitive.indices, 'accessors', `${at}/indices`);
      reference(root, primitive.material, 'materials', `${at}/material`);
      if (
        primitive.mode !== undefined &&
        !(Number.isInteger(primitive.mode) && primitive.mode >= 0 && primitive.mode <= 6)
      ) {
        broken(`${at}/mode`, 'a mode from 0 to 6', primitive.mode);
      }
      optionalObject(primitive.extensions, `${at}/extensions`);
      const draco = primitive.extensions?.[DRACO];
      if (draco)
        reference(root, draco.bufferView as number, 'bufferViews', `${at}/extensions/${DRACO}/bufferView`, true);
    });
  });
}

function checkSurfaces(json: GltfJson): void {
  const root = json as unknown as Loose;
  json.materials?.forEach((material, i) => {
    optionalObject(material.extensions, `/materials/${i}/extensions`);
    optionalObject(material.pbrMetallicRoughness, `/materials/${i}/pbrMetallicRoughness`);
    if (material.name !== undefined && typeof material.name !== 'string')
      broken(`/materials/${i}/name`, 'text', material.name);
    for (const { use, info } of listTextureUses(material)) {
      reference(root, info.index, 'textures', `/materials/${i}/${use.replaceAll('.', '/')}/index`, true);
    }
  });
  json.textures?.forEach((texture, i) => {
    reference(root, texture.source, 'images', `/textures/${i}/source`);
    reference(root, texture.sampler, 'samplers', `/textures/${i}/sampler`);
    optionalObject(texture.extensions, `/textures/${i}/extensions`);
    for (const [name, extension] of Object.entries(texture.extensions ?? {})) {
      reference(root, extension?.source as number | undefined, 'images', `/textures/${i}/extensions/${name}/source`);
    }
  });
  json.images?.forEach((image, i) => {
    reference(root, image.bufferView, 'bufferViews', `/images/${i}/bufferView`);
    if (image.uri !== undefined && typeof image.uri !== 'string') broken(`/images/${i}/uri`, 'text', image.uri);
  });
}

function checkBuffers(json: GltfJson): void {
  json.buffers?.forEach((buffer, i) => {
    count(buffer.byteLength, `/buffers/${i}/byteLength`);
    if (buffer.uri !== undefined && typeof buffer.uri !== 'string') broken(`/buffers/${i}/uri`, 'text', buffer.uri);
    optionalObject(buffer.extensions, `/buffers/${i}/extensions`);
  });
  json.bufferViews?.forEach((view, i) => {
    const at = `/bufferViews/${i}`;
    checkRange(json, view, at);
    const stride = view.byteStride;
    // glTF 2.0 §5.11.4; with a stride of 0, a few bytes could hold any number of elements
    if (stride !== undefined && !(Number.isInteger(stride) && stride >= 4 && stride <= 252 && stride % 4 === 0)) {
      broken(`${at}/byteStride`, 'a multiple of 4 from 4 to 252', stride);
    }
    optionalObject(view.extensions, `${at}/extensions`);
    for (const name of MESHOPT) {
      const compressed = view.extensions?.[name];
      if (compressed) checkRange(json, compressed as never, `${at}/extensions/${name}`);
    }
  });
}

function checkRange(
  json: GltfJson,
  view: { buffer: number; byteOffset?: number; byteLength: number },
  at: string,
): void {
  reference(json as unknown as Loose, view.buffer, 'buffers', `${at}/buffer`, true);
  const start = view.byteOffset === undefined ? 0 : count(view.byteOffset, `${at}/byteOffset`);
  const end = start + count(view.byteLength, `${at}/byteLength`);
  const size = json.buffers![view.buffer]!.byteLength;
  if (end > size) broken(at, `a range that ends by byte ${size}`, `one that ends at byte ${end}`);
}

function checkAccessors(json: GltfJson): void {
  const root = json as unknown as Loose;
  json.accessors?.forEach((accessor, i) => {
    const at = `/accessors/${i}`;
    const itemBytes = itemSize(accessor.componentType, accessor.type, at);
    count(accessor.count, `${at}/count`);
    reference(root, accessor.bufferView, 'bufferViews', `${at}/bufferView`);
    if (accessor.byteOffset !== undefined) count(accessor.byteOffset, `${at}/byteOffset`);
    if (accessor.bufferView !== undefined) {
      const view = json.bufferViews![accessor.bufferView]!;
      const stride = view.byteStride ?? itemBytes;
      const end =
        (accessor.byteOffset ?? 0) + stride * Math.max(0, accessor.count - 1) + (accessor.count > 0 ? itemBytes : 0);
      if (end > view.byteLength) {
        broken(
          at,
          `an accessor that stays within the ${view.byteLength} bytes of its buffer view`,
          `one that ends at byte ${end}`,
        );
      }
    }
    for (const bounds of ['min', 'max'] as const)
      numbers(accessor[bounds], TYPE_COMPONENTS[accessor.type]!, `${at}/${bounds}`);
    const { sparse } = accessor;
    if (sparse !== undefined) {
      optionalObject(sparse, `${at}/sparse`);
      count(sparse.count, `${at}/sparse/count`);
      for (const part of ['indices', 'values'] as const) {
        optionalObject(sparse[part], `${at}/sparse/${part}`);
        reference(root, sparse[part]?.bufferView, 'bufferViews', `${at}/sparse/${part}/bufferView`, true);
        const bytes =
          part === 'values' ? itemBytes : itemSize(sparse.indices.componentType, 'SCALAR', `${at}/sparse/indices`);
        const offset = sparse[part].byteOffset;
        const end =
          (offset === undefined ? 0 : count(offset, `${at}/sparse/${part}/byteOffset`)) + sparse.count * bytes;
        if (!(end <= json.bufferViews![sparse[part].bufferView]!.byteLength))
          broken(`${at}/sparse/${part}`, 'a range inside its buffer view', end);
      }
    }
  });
}

function itemSize(componentType: number, type: string, at: string): number {
  const bytes = COMPONENT_BYTES[componentType];
  const components = TYPE_COMPONENTS[type];
  if (bytes === undefined) broken(`${at}/componentType`, Object.keys(COMPONENT_BYTES).join(', '), componentType);
  if (components === undefined) broken(`${at}/type`, Object.keys(TYPE_COMPONENTS).join(', '), type);
  return bytes * components;
}

function list<T>(value: readonly T[] | undefined, at: string): readonly T[] {
  if (value === undefined) return [];
  if (!Array.isArray(value) || value.some((item) => typeof item !== 'object' || item === null))
    broken(at, 'a list of objects', value);
  return value;
}

function reference(root: Loose, index: number | undefined, array: string, at: string, needed = false): void {
  if (index === undefined && !needed) return;
  const length = Array.isArray(root[array]) ? (root[array] as unknown[]).length : 0;
  if (!Number.isInteger(index) || index! < 0 || index! >= length) {
    broken(
      at,
      length === 0 ? `no reference, since there are no ${array}` : `an index into ${array}, 0 to ${length - 1}`,
      index,
    );
  }
}

function references(root: Loose, indices: number[] | undefined, array: string, at: string): void {
  if (indices === undefined) return;
  if (!Array.isArray(indices)) broken(at, 'a list of indices', indices);
  indices.forEach((index, i) => {
    reference(root, index, array, `${at}/${i}`, true);
  });
}

function numbers(value: number[] | undefined, length: number, at: string): void {
  if (value === undefined) return;
  if (
    !Array.isArray(value) ||
    value.length !== length ||
    value.some((item) => typeof item !== 'number' || !Number.isFinite(item))
  ) {
    broken(at, `${length} finite numbers`, value);
  }
}

function count(value: unknown, at: string): number {
  if (!Number.isSafeInteger(value) || (value as number) < 0) broken(at, 'a whole number of at least 0', value);
  return value as number;
}

function optionalObject(value: unknown, at: string): void {
  if (value !== undefined && (typeof value !== 'object' || value === null || Array.isArray(value)))
    broken(at, 'an object', value);
}

function broken(where: string, expected: string, received: unknown): never {
  const seen = typeof received === 'object' ? JSON.stringify(received)?.slice(0, 80) : String(received).slice(0, 80);
  throw new Problem('model-broken-reference', {
    detail: MODEL_PROBLEMS['model-broken-reference'].structure(where, expected, seen),
    expected,
    received: seen,
    where,
  });
}
