import { type PrimitiveJson, TYPE_COMPONENTS, VARIANTS } from '../../document/json.ts';
import { readAccessor } from '../../document/read-accessor.ts';
import { packIndices } from '../../geometry/list-triangles.ts';
import { flatNormals, moveNormals, movePositions, moveTangents, windsBackwards } from '../edit/change-vertices.ts';
import { ARRAY_BUFFER, ELEMENT_ARRAY_BUFFER, type ModelEdit } from '../edit/model-edit.ts';
import type { PartGeometry } from '../edit/read-geometry.ts';
import { findPrimitive, hasTangents, listCustom, type MergePart } from './plan-merge.ts';

/** A part with its triangles, and the place of its vertices among those of the group. */
interface Placed extends PartGeometry {
  readonly part: MergePart;
  /** Source vertex of every new vertex; null when all are copied in order. */
  readonly gather: Uint32Array | null;
  readonly vertices: number;
  /** Triangles share no vertices, since the part has no normals and gets flat ones. */
  readonly unshared: boolean;
  readonly first: number;
}

interface Layout {
  readonly normals: boolean;
  readonly tangents: boolean;
  readonly uvs: readonly string[];
  readonly colours: readonly string[];
  readonly custom: readonly { readonly name: string; readonly type: string }[];
}

interface MergedGroup {
  readonly primitive: PrimitiveJson;
  readonly vertices: number;
  readonly triangles: number;
}

/** Merges parts with the same material, variants and presence of tangents into one primitive, in scene coordinates. */
export function mergeGroup(
  edit: ModelEdit,
  parts: readonly (PartGeometry & { readonly part: MergePart })[],
): MergedGroup {
  const primitives = [...new Set(parts.map(({ part }) => findPrimitive(edit.json, part)))];
  const layout = planLayout(edit, primitives);
  let vertices = 0;
  let triangles = 0;
  const placed = parts.map((given): Placed => {
    const unshared = layout.normals && findPrimitive(edit.json, given.part).attributes.NORMAL === undefined;
    const count = unshared ? given.triangles.length : (given.used?.length ?? given.sourceVertices);
    const first = vertices;
    vertices += count;
    triangles += given.triangles.length / 3;
    return { ...given, unshared, gather: unshared ? given.triangles : given.used, vertices: count, first };
  });
  const writer = new GroupWriter(edit, placed, vertices);
  const positions = writer.write('POSITION', 3, (values, { part }) => movePositions(values, part.matrix))!;
  const attributes: PrimitiveJson['attributes'] = {
    POSITION: edit.addAccessor(positions, 'VEC3', { target: ARRAY_BUFFER, bounds: true }),
  };
  const add = (name: string, values: Float32Array | Uint8Array | Uint16Array, type: string, normalized = false) => {
    attributes[name] = edit.addAccessor(values, type, { target: ARRAY_BUFFER, normalized });
  };
  if (layout.normals) {
    const normals = writer.write('NORMAL', 3, (values, { part }) => moveNormals(values, part.matrix));
    for (const { unshared, part, first, vertices } of placed) {
      if (unshared) flatNormals(positions, normals, first, vertices, windsBackwards(part.matrix));
    }
    add('NORMAL', normals, 'VEC3');
  }
  if (layout.tangents) {
    add(
      'TANGENT',
      writer.write('TANGENT', 4, (values, { part }) => moveTangents(values, part.matrix)),
      'VEC4',
    );
  }
  for (const name of layout.uvs) add(name, writer.write(name, 2), 'VEC2');
  for (const name of layout.colours) {
    const colours = writer.write(name, 4);
    const bytes = packColours(edit, primitives, name, colours);
    add(name, bytes ?? colours, 'VEC4', bytes !== null);
  }
  for (const { name, type } of layout.custom) add(name, writer.write(name, TYPE_COMPONENTS[type]!), type);
  const indices = edit.addAccessor(packIndices(writer.writeIndices(triangles * 3), vertices), 'SCALAR', {
    target: ELEMENT_ARRAY_BUFFER,
  });
  const { material, extensions } = primitives[0]!;
  const variants = extensions?.[VARIANTS];
  return {
    primitive: {
      attributes,
      indices,
      ...(material === undefined ? {} : { material }),
      ...(variants ? { extensions: { [VARIANTS]: structuredClone(variants) } } : {}),
    },
    vertices,
    triangles,
  };
}

function planLayout(edit: ModelEdit, primitives: readonly PrimitiveJson[]): Layout {
  const names = [...new Set(primitives.flatMap(({ attributes }) => Object.keys(attributes)))];
  return {
    normals: names.includes('NORMAL'),
    // if only some have them, the material does not use them
    tangents: primitives.every(hasTangents),
    uvs: names.filter((name) => /^TEXCOORD_\d+$/.test(name)).sort(),
    colours: names.filter((name) => /^COLOR_\d+$/.test(name)).sort(),
    custom: listCustom(edit.json, primitives),
  };
}

/** Keeps colours as bytes where all are bytes: no value changes, and they take a quarter of the space. */
function packColours(
  edit: ModelEdit,
  primitives: readonly PrimitiveJson[],
  name: string,
  colours: Float32Array,
): Uint8Array | null {
  const accessors = primitives.flatMap(({ attributes }) => {
    const accessor = attributes[name];
    return accessor === undefined ? [] : [edit.json.accessors![accessor]!];
  });
  if (!accessors.every(({ componentType, normalized }) => componentType === 5121 && normalized)) return null;
  return Uint8Array.from(colours, (value) => Math.round(value * 255));
}

class GroupWriter {
  readonly #edit: ModelEdit;
  readonly #placed: readonly Placed[];
  readonly #vertices: number;
  /** How many parts read an accessor; only shared ones are kept in memory. */
  readonly #readers = new Map<number, number>();

  constructor(edit: ModelEdit, placed: readonly Placed[], vertices: number) {
    this.#edit = edit;
    this.#placed = placed;
    this.#vertices = vertices;
    for (const { part } of placed) {
      for (const accessor of Object.values(findPrimitive(edit.json, part).attributes)) {
        this.#readers.set(accessor, (this.#readers.get(accessor) ?? 0) + 1);
      }
    }
  }

  /** Writes one attribute of all parts in order. Parts without it get white for a colour, or else 0. */
  write(name: string, components: number, change?: (values: Float32Array, placed: Placed) => void): Float32Array {
    const out = new Float32Array(this.#vertices * components);
    const kept = new Map<number, Float32Array>();
    for (const placed of this.#placed) {
      const { part, first, vertices, gather } = placed;
      const target = out.subarray(first * components, (first + vertices) * components);
      const accessor = findPrimitive(this.#edit.json, part).attributes[name];
      if (accessor === undefined) {
        if (name.startsWith('COLOR_')) target.fill(1);
        continue;
      }
      const source = kept.get(accessor) ?? this.#read(accessor);
      if (this.#readers.get(accessor)! > 1) kept.set(accessor, source);
      copy(source, TYPE_COMPONENTS[this.#edit.json.accessors![accessor]!.type]!, target, components, gather);
      change?.(target, placed);
    }
    return out;
  }

  /** An accessor without a view is all zeros (glTF 2.0 §3.6.2.1). */
  #read(index: number): Float32Array {
    const { count, type } = this.#edit.json.accessors![index]!;
    return readAccessor(this.#edit.loaded, index) ?? new Float32Array(count * TYPE_COMPONENTS[type]!);
  }

  writeIndices(length: number): Uint32Array {
    const out = new Uint32Array(length);
    let at = 0;
    for (const { triangles, part, used, unshared, first } of this.#placed) {
      const places = unshared || !used ? null : invert(used);
      // baking a mirror swaps front and back, so the winding is reversed
      const [second, third] = windsBackwards(part.matrix) ? [2, 1] : [1, 2];
      const place = (corner: number) => {
        if (unshared) return first + corner;
        const vertex = triangles[corner]!;
        return first + (places ? places[vertex]! : vertex);
      };
      for (let t = 0; t < triangles.length; t += 3) {
        out[at++] = place(t);
        out[at++] = place(t + second);
        out[at++] = place(t + third);
      }
    }
    return out;
  }
}

/** Copies elements. A missing fourth component becomes 1, as for a colour without alpha; NaN and infinity become 0. */
function copy(source: Float32Array, from: number, target: Float32Array, to: number, gather: Uint32Array | null): void {
  const count = target.length / to;
  for (let i = 0; i < count; i++) {
    const at = (gather ? gather[i]! : i) * from;
    for (let c = 0; c < to; c++) {
      const value = c < from ? source[at + c]! : c === 3 ? 1 : 0;
      target[i * to + c] = Number.isFinite(value) ? value : 0;
    }
  }
}

function invert(used: Uint32Array): Uint32Array {
  const places = new Uint32Array(used[used.length - 1]! + 1);
  for (let i = 0; i < used.length; i++) places[used[i]!] = i;
  return places;
}
