import type { Node, Primitive } from '@gltf-transform/core';
import { createIo } from './gltf-io.ts';

/** A triangle in the scene; its front faces the viewer when its corners run counter-clockwise. */
export interface WorldTriangle {
  readonly material: string;
  /** Three corners of position, normal, UV and colour: eleven numbers each. */
  readonly corners: readonly (readonly number[])[];
}

/**
 * Every triangle that the first scene draws, read by the glTF library and transformed by its world matrices. Without
 * normals a triangle is flat; without UVs they are 0, without colours white (glTF 2.0 §3.7.2.1, §3.9).
 */
export async function listWorldTriangles(bytes: Uint8Array): Promise<WorldTriangle[]> {
  const document = await (await createIo()).readBinary(bytes);
  const triangles: WorldTriangle[] = [];
  document
    .getRoot()
    .listScenes()[0]!
    .traverse((node) => {
      for (const primitive of node.getMesh()?.listPrimitives() ?? []) triangles.push(...listTriangles(node, primitive));
    });
  return triangles;
}

function listTriangles(node: Node, primitive: Primitive): WorldTriangle[] {
  const m = node.getWorldMatrix();
  const mirrored = determinant(m) < 0;
  const position = primitive.getAttribute('POSITION')!;
  const indices = primitive.getIndices();
  const order = indices ? [...indices.getArray()!] : Array.from({ length: position.getCount() }, (_, i) => i);
  const material = primitive.getMaterial()?.getName() ?? '';
  return listFaces(order, primitive.getMode()).map((face) => {
    const [a, b, c] = face as [number, number, number];
    const wound = mirrored ? [a, c, b] : [a, b, c];
    const points = wound.map((index) => {
      const [x, y, z] = position.getElement(index, [0, 0, 0]) as [number, number, number];
      return [0, 1, 2].map((row) => m[row]! * x + m[4 + row]! * y + m[8 + row]! * z + m[12 + row]!);
    });
    const flat = unit(cross(minus(points[1]!, points[0]!), minus(points[2]!, points[0]!)));
    const corners = wound.map((index, corner) => {
      const read = (name: string) => primitive.getAttribute(name)?.getElement(index, []);
      const normal = read('NORMAL');
      const [red = 1, green = 1, blue = 1] = read('COLOR_0') ?? [];
      return [
        ...points[corner]!,
        ...(normal ? turnNormal(m, normal) : flat),
        ...(read('TEXCOORD_0') ?? [0, 0]),
        red,
        green,
        blue,
      ];
    });
    return { material, corners };
  });
}

/** Triangles, strips (5) and fans (6) by glTF 2.0 §3.7.2.1. */
function listFaces(order: readonly number[], mode: number): number[][] {
  const faces: number[][] = [];
  if (mode === 4) for (let i = 0; i + 2 < order.length; i += 3) faces.push([order[i]!, order[i + 1]!, order[i + 2]!]);
  for (let i = 0; i + 2 < order.length; i++) {
    if (mode === 5) faces.push([order[i]!, order[i + 1 + (i % 2)]!, order[i + 2 - (i % 2)]!]);
    if (mode === 6) faces.push([order[i + 1]!, order[i + 2]!, order[0]!]);
  }
  return faces;
}

/** By the inverse transpose: its columns are cross products of the matrix' own, over the determinant. */
function turnNormal(m: readonly number[], n: readonly number[]): number[] {
  const columns = [m.slice(0, 3), m.slice(4, 7), m.slice(8, 11)] as number[][];
  const inverse = [0, 1, 2].map((i) => cross(columns[(i + 1) % 3]!, columns[(i + 2) % 3]!));
  const sign = Math.sign(determinant(m)) || 1;
  return unit([0, 1, 2].map((row) => sign * inverse.reduce((sum, column, i) => sum + column[row]! * n[i]!, 0)));
}

function determinant(m: readonly number[]): number {
  const [x, y, z] = [m.slice(0, 3), m.slice(4, 7), m.slice(8, 11)];
  return cross(x, y).reduce((sum, value, i) => sum + value * z[i]!, 0);
}

const minus = (a: readonly number[], b: readonly number[]) => a.map((value, i) => value - b[i]!);

function cross(a: readonly number[], b: readonly number[]): number[] {
  return [0, 1, 2].map((i) => a[(i + 1) % 3]! * b[(i + 2) % 3]! - a[(i + 2) % 3]! * b[(i + 1) % 3]!);
}

function unit(v: readonly number[]): number[] {
  const length = Math.hypot(...v);
  return v.map((value) => (length > 0 ? value / length : 0));
}

/**
 * Number of triangles of `before` without a partner of their own in `after`: the same corners with the same winding,
 * within `off` in every number, with the same material unless that is ignored.
 */
export function countUnmatched(
  before: readonly WorldTriangle[],
  after: readonly WorldTriangle[],
  { off, materials = true }: { readonly off: number; readonly materials?: boolean },
): number {
  const keyed = after.map((triangle) => ({ triangle, key: keyOf(triangle), taken: false }));
  keyed.sort((a, b) => a.key - b.key);
  let unmatched = 0;
  for (const triangle of before) {
    const key = keyOf(triangle);
    let at = lowerBound(keyed, key - 3 * off);
    let partner: (typeof keyed)[number] | undefined;
    for (; at < keyed.length && keyed[at]!.key <= key + 3 * off; at++) {
      const candidate = keyed[at]!;
      if (candidate.taken || (materials && candidate.triangle.material !== triangle.material)) continue;
      if (alike(triangle, candidate.triangle, off)) {
        partner = candidate;
        break;
      }
    }
    if (partner) partner.taken = true;
    else unmatched++;
  }
  return unmatched;
}

/** One number of a triangle to sort by, whatever its first corner. */
function keyOf({ corners }: WorldTriangle): number {
  return corners.reduce((sum, [x, y, z]) => sum + 0.531 * x! + 0.743 * y! + 0.409 * z!, 0) / 3;
}

function lowerBound(list: readonly { readonly key: number }[], key: number): number {
  let [low, high] = [0, list.length];
  while (low < high) {
    const middle = (low + high) >> 1;
    if (list[middle]!.key < key) low = middle + 1;
    else high = middle;
  }
  return low;
}

function alike(a: WorldTriangle, b: WorldTriangle, off: number): boolean {
  return [0, 1, 2].some((turn) =>
    a.corners.every((corner, i) =>
      corner.every((value, axis) => Math.abs(value - b.corners[(i + turn) % 3]![axis]!) <= off),
    ),
  );
}

/** Total area, in the square of the positions' unit. */
export function sumArea(triangles: readonly WorldTriangle[]): number {
  return triangles.reduce((sum, { corners: [a, b, c] }) => {
    const normal = cross(minus(b!.slice(0, 3), a!.slice(0, 3)), minus(c!.slice(0, 3), a!.slice(0, 3)));
    return sum + Math.hypot(...normal) / 2;
  }, 0);
}
