import type { PrimitiveJson } from '../../document/json.ts';
import type { LoadedModel } from '../../document/read-accessor.ts';
import type { Matrix } from '../../document/world-matrices.ts';
import { drawsTriangles, listTriangles, packIndices } from '../../geometry/list-triangles.ts';
import { moveNormals, movePositions, moveTangents, windsBackwards } from '../edit/change-vertices.ts';
import { ARRAY_BUFFER, ELEMENT_ARRAY_BUFFER, type ModelEdit } from '../edit/model-edit.ts';
import { readFloats } from '../edit/read-geometry.ts';

const TYPES: Readonly<Record<string, string>> = { POSITION: 'VEC3', NORMAL: 'VEC3', TANGENT: 'VEC4' };

/** Whether all attributes that a transform changes are readable, consistent and finite. */
export function canBake(model: LoadedModel, primitive: PrimitiveJson, matrix: Matrix): boolean {
  const { accessors = [] } = model.json;
  const { POSITION } = primitive.attributes;
  if (POSITION === undefined) return true;
  const { count } = accessors[POSITION]!;
  if (count === 0) return false;
  const sets = [primitive.attributes, ...(primitive.targets ?? [])];
  for (const [target, set] of sets.entries()) {
    for (const [name, type] of Object.entries(TYPES)) {
      const index = set[name];
      if (index === undefined) continue;
      // deltas of tangents have no handedness (glTF 2.0 §3.7.2.2)
      if (accessors[index]!.type !== (target > 0 ? 'VEC3' : type) || accessors[index]!.count !== count) return false;
      if (!readFloats(model, index)?.every(Number.isFinite)) return false;
    }
  }
  if (!windsBackwards(matrix) || !drawsTriangles(primitive)) return true;
  return listTriangles(model, primitive)?.every((vertex) => vertex < count) ?? false;
}

/** Bakes transforms into geometry. Writes each pair of matrix and accessor once. */
export class MeshBaker {
  readonly #edit: ModelEdit;
  readonly #written = new Map<string, number>();
  /** Vertices written. */
  vertices = 0;

  constructor(edit: ModelEdit) {
    this.#edit = edit;
  }

  /** Copies a primitive so that it looks the same without the matrix. */
  bake(primitive: PrimitiveJson, matrix: Matrix): PrimitiveJson {
    const { POSITION, NORMAL, TANGENT } = primitive.attributes;
    if (POSITION === undefined) return structuredClone(primitive);
    const linear = [...matrix.slice(0, 12), 0, 0, 0, 1];
    const key = linear.join(' ');
    const baked = structuredClone(primitive);
    baked.attributes.POSITION = this.#once(`${POSITION} p ${matrix.join(' ')}`, () => {
      const values = this.#read(POSITION);
      movePositions(values, matrix);
      this.vertices += values.length / 3;
      return this.#add(values, 'VEC3', true);
    });
    if (NORMAL !== undefined) {
      baked.attributes.NORMAL = this.#once(`${NORMAL} n ${key}`, () =>
        this.#add(this.#normals(NORMAL, linear), 'VEC3'),
      );
    }
    if (TANGENT !== undefined) {
      baked.attributes.TANGENT = this.#once(`${TANGENT} t ${key}`, () =>
        this.#add(this.#tangents(TANGENT, linear), 'VEC4'),
      );
    }
    baked.targets?.forEach((target) => {
      this.#bakeTarget(target, { NORMAL, TANGENT }, linear, key);
    });
    if (windsBackwards(matrix) && drawsTriangles(primitive)) this.#reverseWinding(primitive, baked);
    return baked;
  }

  /** Deltas of directions are differences between normalised directions after baking. */
  #bakeTarget(
    target: Record<string, number>,
    base: { readonly NORMAL?: number | undefined; readonly TANGENT?: number | undefined },
    linear: Matrix,
    key: string,
  ): void {
    const { POSITION, NORMAL, TANGENT } = target;
    if (POSITION !== undefined) {
      target.POSITION = this.#once(`${POSITION} d ${key}`, () => {
        const deltas = this.#read(POSITION);
        movePositions(deltas, linear);
        return this.#add(deltas, 'VEC3', true);
      });
    }
    if (NORMAL !== undefined && base.NORMAL !== undefined) {
      const from = base.NORMAL;
      target.NORMAL = this.#once(`${NORMAL} n ${from} ${key}`, () => {
        const moved = this.#read(from);
        const deltas = this.#read(NORMAL);
        for (let i = 0; i < deltas.length; i++) moved[i]! += deltas[i]!;
        moveNormals(moved, linear);
        const start = this.#normals(from, linear);
        for (let i = 0; i < deltas.length; i++) deltas[i] = moved[i]! - start[i]!;
        return this.#add(deltas, 'VEC3');
      });
    }
    if (TANGENT !== undefined && base.TANGENT !== undefined) {
      const from = base.TANGENT;
      target.TANGENT = this.#once(`${TANGENT} t ${from} ${key}`, () => {
        const moved = this.#read(from);
        const deltas = this.#read(TANGENT);
        for (let i = 0; i < deltas.length; i++) moved[Math.floor(i / 3) * 4 + (i % 3)]! += deltas[i]!;
        moveTangents(moved, linear);
        const start = this.#tangents(from, linear);
        for (let i = 0; i < deltas.length; i++) {
          const at = Math.floor(i / 3) * 4 + (i % 3);
          deltas[i] = moved[at]! - start[at]!;
        }
        return this.#add(deltas, 'VEC3');
      });
    }
  }

  /** Reverses the winding, which a mirror swaps. Strips and fans become lists. */
  #reverseWinding(primitive: PrimitiveJson, baked: PrimitiveJson): void {
    const { count } = this.#edit.json.accessors![primitive.attributes.POSITION!]!;
    baked.indices = this.#once(`${primitive.indices ?? `of ${count}`} i ${primitive.mode ?? 4}`, () => {
      const triangles = listTriangles(this.#edit.loaded, primitive)!.slice();
      for (let t = 0; t + 2 < triangles.length; t += 3) {
        const second = triangles[t + 1]!;
        triangles[t + 1] = triangles[t + 2]!;
        triangles[t + 2] = second;
      }
      return this.#edit.addAccessor(packIndices(triangles, count), 'SCALAR', { target: ELEMENT_ARRAY_BUFFER });
    });
    delete baked.mode;
  }

  #normals(index: number, linear: Matrix): Float32Array {
    const values = this.#read(index);
    moveNormals(values, linear);
    return values;
  }

  #tangents(index: number, linear: Matrix): Float32Array {
    const values = this.#read(index);
    moveTangents(values, linear);
    return values;
  }

  #read(index: number): Float32Array {
    return readFloats(this.#edit.loaded, index)!.slice();
  }

  #add(values: Float32Array, type: string, bounds = false): number {
    return this.#edit.addAccessor(values, type, { target: ARRAY_BUFFER, bounds });
  }

  #once(key: string, write: () => number): number {
    const known = this.#written.get(key);
    if (known !== undefined) return known;
    const index = write();
    this.#written.set(key, index);
    return index;
  }
}
