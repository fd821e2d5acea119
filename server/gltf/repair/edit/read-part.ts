import { DRACO, MESHOPT, type PrimitiveJson, TYPE_COMPONENTS } from '../../document/json.ts';
import { type LoadedModel, readAccessor } from '../../document/read-accessor.ts';
import { listTriangles } from '../../geometry/list-triangles.ts';

/** The triangles of a primitive, checked. */
export interface PartGeometry {
  /** Vertex indices of the source, three for each triangle. */
  readonly triangles: Uint32Array;
  readonly sourceVertices: number;
  /** Vertices that triangles use, ascending; null when all are used. */
  readonly used: Uint32Array | null;
}

const TYPES: readonly (readonly [RegExp, readonly string[]])[] = [
  [/^(POSITION|NORMAL)$/, ['VEC3']],
  [/^TANGENT$/, ['VEC4']],
  [/^TEXCOORD_\d+$/, ['VEC2']],
  [/^COLOR_\d+$/, ['VEC3', 'VEC4']],
];

/** Reads and checks a primitive; null when it cannot be read or drawn, for example for an index out of range. */
export function readPart(model: LoadedModel, primitive: PrimitiveJson): PartGeometry | null {
  const { json } = model;
  const position = json.accessors![primitive.attributes.POSITION!]!;
  for (const [name, index] of Object.entries(primitive.attributes)) {
    const accessor = json.accessors![index]!;
    const types = TYPES.find(([pattern]) => pattern.test(name))?.[1];
    if (accessor.count !== position.count || (types && !types.includes(accessor.type))) return null;
    // an attribute that could not be decoded from Draco has no bytes
    const packed = primitive.extensions?.[DRACO] && !model.arrays?.has(index);
    if (packed || !isReadable(model, index)) return null;
  }
  const triangles = listTriangles(model, primitive);
  const positions = readAccessor(model, primitive.attributes.POSITION!);
  if (!triangles || triangles.length === 0 || !positions) return null;
  const isUsed = new Uint8Array(position.count);
  let count = 0;
  for (let i = 0; i < triangles.length; i++) {
    const vertex = triangles[i]!;
    if (vertex >= position.count) return null;
    if (isUsed[vertex] === 1) continue;
    isUsed[vertex] = 1;
    count++;
    const at = vertex * 3;
    if (!Number.isFinite(positions[at]! + positions[at + 1]! + positions[at + 2]!)) return null;
  }
  return { triangles, sourceVertices: position.count, used: count === position.count ? null : list(isUsed, count) };
}

function list(isUsed: Uint8Array, count: number): Uint32Array {
  const used = new Uint32Array(count);
  for (let vertex = 0, at = 0; at < count; vertex++) if (isUsed[vertex] === 1) used[at++] = vertex;
  return used;
}

/** Whether `readAccessor` can read it, or it is all zeros. */
function isReadable({ json, bin, views, arrays }: LoadedModel, index: number): boolean {
  if (arrays?.has(index)) return true;
  const { bufferView, sparse, type } = json.accessors![index]!;
  if (TYPE_COMPONENTS[type] === undefined) return false;
  if (bufferView === undefined) return sparse === undefined;
  return [bufferView, sparse?.indices.bufferView, sparse?.values.bufferView].every((at) => {
    if (at === undefined || views?.has(at)) return true;
    const view = json.bufferViews![at]!;
    return bin !== null && view.buffer === 0 && !MESHOPT.some((name) => view.extensions?.[name]);
  });
}
