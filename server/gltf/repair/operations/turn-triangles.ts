import { COMPONENT_BYTES, type MeshJson, type PrimitiveJson, TYPE_COMPONENTS } from '../../document/json.ts';
import { listTriangles, packIndices } from '../../geometry/list-triangles.ts';
import { gatherElements } from '../edit/gather-vertices.ts';
import { ELEMENT_ARRAY_BUFFER, type ModelEdit } from '../edit/model-edit.ts';

/** What is turned of a triangle: the order of its corners, its normals, or both (a sum). */
export const WINDING = 1;
export const NORMALS = 2;

/** A copy of an accessor, and what was decided for each of its elements. */
interface Copy {
  readonly accessor: number;
  readonly decided: Uint8Array;
}

const KEPT = 1;
const TURNED = 2;

/**
 * Turns triangles of primitives. Corners are listed anew, strips and fans as lists. Normals, and what morph targets add to
 * them, are written negated in a copy, in the type they have; tangents keep their direction and change handedness, so that
 * the bitangent stays where the UVs have it (glTF 2.0 §3.7.2.1). Primitives that share an accessor share its copy where they agree.
 */
export class TriangleTurner {
  readonly #copies = new Map<number, Copy[]>();

  turn(edit: ModelEdit, mesh: MeshJson, index: number, wanted: Int32Array): void {
    const primitive = mesh.primitives[index]!;
    const triangles = listTriangles(edit.loaded, primitive)!;
    const vertices = edit.json.accessors![primitive.attributes.POSITION!]!.count;
    if (wanted.some((turn) => turn & NORMALS))
      this.#turnNormals(edit, primitive, listDecisions(triangles, vertices, wanted));
    if (!wanted.some((turn) => turn & WINDING)) return;
    const corners = triangles.slice();
    wanted.forEach((turn, t) => {
      if ((turn & WINDING) === 0) return;
      corners[t * 3 + 1] = triangles[t * 3 + 2]!;
      corners[t * 3 + 2] = triangles[t * 3 + 1]!;
    });
    primitive.indices = edit.addAccessor(packIndices(corners, vertices), 'SCALAR', { target: ELEMENT_ARRAY_BUFFER });
    delete primitive.mode;
  }

  #turnNormals(edit: ModelEdit, { attributes, targets = [] }: PrimitiveJson, decisions: Uint8Array): void {
    for (const set of [attributes, ...targets]) {
      if (set.NORMAL !== undefined) set.NORMAL = this.#negate(edit, set.NORMAL, decisions, 0);
    }
    // deltas of tangents have no handedness (§3.7.2.2)
    if (attributes.TANGENT !== undefined) attributes.TANGENT = this.#negate(edit, attributes.TANGENT, decisions, 3);
  }

  /** @param from first component that is negated */
  #negate(edit: ModelEdit, index: number, decisions: Uint8Array, from: number): number {
    const { bufferView, sparse } = edit.json.accessors![index]!;
    // without bytes it is all zeros
    if (bufferView === undefined && !sparse) return index;
    const copies = this.#copies.get(index) ?? [];
    this.#copies.set(index, copies);
    let copy = copies.find(({ decided }) => decisions.every((one, at) => one === 0 || (decided[at] || one) === one));
    if (!copy) {
      copy = { accessor: copyAccessor(edit, index), decided: new Uint8Array(decisions.length) };
      copies.push(copy);
    }
    negateElements(edit, copy, decisions, from);
    return copy.accessor;
  }
}

/** What becomes of each vertex; 0 where no triangle uses it. Pieces share no vertices, so that triangles agree. */
function listDecisions(triangles: Uint32Array, vertices: number, wanted: Int32Array): Uint8Array {
  const decisions = new Uint8Array(vertices);
  for (let corner = 0; corner < triangles.length; corner++) {
    const turned = (wanted[Math.floor(corner / 3)]! & NORMALS) !== 0;
    if (triangles[corner]! < vertices) decisions[triangles[corner]!]! |= turned ? TURNED : KEPT;
  }
  // a sliver of no piece may use a vertex of one
  return decisions.map((one) => (one & TURNED ? TURNED : one));
}

function copyAccessor(edit: ModelEdit, index: number): number {
  const { count } = edit.json.accessors![index]!;
  const copy = gatherElements(
    edit,
    index,
    Uint32Array.from({ length: count }, (_, at) => at),
  );
  // bounds are those from before, and need not be stated
  delete edit.json.accessors![copy]!.min;
  delete edit.json.accessors![copy]!.max;
  return copy;
}

function negateElements(edit: ModelEdit, { accessor, decided }: Copy, decisions: Uint8Array, from: number): void {
  const { bufferView, componentType, type } = edit.json.accessors![accessor]!;
  const bytes = edit.added.get(bufferView!)!;
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const size = COMPONENT_BYTES[componentType]!;
  const components = TYPE_COMPONENTS[type]!;
  const stride = edit.json.bufferViews![bufferView!]!.byteStride ?? size * components;
  for (let vertex = 0; vertex < decisions.length; vertex++) {
    if (decisions[vertex] === TURNED && decided[vertex] === 0) {
      for (let component = from; component < components; component++) {
        const at = vertex * stride + component * size;
        if (size === 4) view.setFloat32(at, -view.getFloat32(at, true), true);
        // the least of whole numbers has no counterpart
        else if (size === 2) view.setInt16(at, Math.min(32767, -view.getInt16(at, true)), true);
        else view.setInt8(at, Math.min(127, -view.getInt8(at)));
      }
    }
    decided[vertex] ||= decisions[vertex]!;
  }
}
