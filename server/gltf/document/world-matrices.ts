import type { GltfJson, NodeJson } from './json.ts';

/** A 4 × 4 matrix, column-major as in glTF. */
export type Matrix = readonly number[];

export const IDENTITY: Matrix = [1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1];

/** A node that the scene draws, and its world matrix. */
export interface SceneNode {
  readonly node: number;
  readonly matrix: Matrix;
}

/** Every node that the scene draws, each once, with its world matrix. */
export function listSceneNodes(json: GltfJson): SceneNode[] {
  const scene = json.scenes?.[json.scene ?? 0];
  const roots = scene ? listTops(json, scene.nodes ?? []) : listRoots(json);
  const found: SceneNode[] = [];
  const seen = new Set<number>();
  const stack = roots.map((node) => ({ node, parent: IDENTITY }));
  while (stack.length > 0) {
    const { node, parent } = stack.pop()!;
    if (seen.has(node)) continue;
    seen.add(node);
    const matrix = multiply(parent, localMatrix(json.nodes![node]!));
    found.push({ node, matrix });
    for (const child of json.nodes![node]!.children ?? []) stack.push({ node: child, parent: matrix });
  }
  return found;
}

/**
 * The nodes of a scene's list that it draws as roots, each once. A node below another node of the list is drawn with its
 * parent. A node whose parents are not in the list has only its own transform, as viewers draw it.
 */
export function listTops(json: GltfJson, listed: readonly number[]): number[] {
  const parents = new Int32Array(json.nodes?.length ?? 0).fill(-1);
  json.nodes?.forEach(({ children = [] }, parent) => {
    for (const child of children) parents[child] = parent;
  });
  const tops = new Set(listed);
  // whether a node of the list is above a node; no path is walked twice, since chains can be long
  const above = new Map<number, boolean>();
  return [...tops].filter((node) => {
    const path: number[] = [];
    let at = parents[node]!;
    for (; at >= 0 && !tops.has(at) && !above.has(at); at = parents[at]!) path.push(at);
    const held = at >= 0 && (above.get(at) ?? true);
    for (const passed of path) above.set(passed, held);
    return !held;
  });
}

/** The parent of every node that has one. */
export function listParents(json: GltfJson): Map<number, number> {
  const parents = new Map<number, number>();
  json.nodes?.forEach(({ children = [] }, parent) => {
    for (const child of children) parents.set(child, parent);
  });
  return parents;
}

/** Nodes without a parent: viewers draw them when the file has no scene. */
export function listRoots(json: GltfJson): number[] {
  const children = new Set((json.nodes ?? []).flatMap((node) => node.children ?? []));
  return (json.nodes ?? []).map((_, i) => i).filter((i) => !children.has(i));
}

export function localMatrix({ matrix, translation, rotation, scale }: NodeJson): Matrix {
  if (matrix) return matrix;
  const [x, y, z, w] = rotation ?? [0, 0, 0, 1];
  const [sx, sy, sz] = scale ?? [1, 1, 1];
  const [tx, ty, tz] = translation ?? [0, 0, 0];
  return [
    (1 - 2 * (y! * y! + z! * z!)) * sx!,
    2 * (x! * y! + w! * z!) * sx!,
    2 * (x! * z! - w! * y!) * sx!,
    0,
    2 * (x! * y! - w! * z!) * sy!,
    (1 - 2 * (x! * x! + z! * z!)) * sy!,
    2 * (y! * z! + w! * x!) * sy!,
    0,
    2 * (x! * z! + w! * y!) * sz!,
    2 * (y! * z! - w! * x!) * sz!,
    (1 - 2 * (x! * x! + y! * y!)) * sz!,
    0,
    tx!,
    ty!,
    tz!,
    1,
  ];
}

export function multiply(a: Matrix, b: Matrix): Matrix {
  const out = new Array<number>(16);
  for (let column = 0; column < 4; column++) {
    for (let row = 0; row < 4; row++) {
      let sum = 0;
      for (let k = 0; k < 4; k++) sum += a[k * 4 + row]! * b[column * 4 + k]!;
      out[column * 4 + row] = sum;
    }
  }
  return out;
}

/** Whether a matrix mirrors: its determinant is negative. */
export function isMirror([a, b, c, , d, e, f, , g, h, i]: Matrix): boolean {
  return a! * (e! * i! - f! * h!) - d! * (b! * i! - c! * h!) + g! * (b! * f! - c! * e!) < 0;
}

/** The geometric mean of the scales along the three axes: the cube root of the volume of a transformed unit cube. */
export function meanScale([a, b, c, , d, e, f, , g, h, i]: Matrix): number {
  return Math.cbrt(Math.abs(a! * (e! * i! - f! * h!) - d! * (b! * i! - c! * h!) + g! * (b! * f! - c! * e!)));
}

/** Whether a matrix keeps axis-aligned boxes axis-aligned. */
export function isAxisAligned(m: Matrix): boolean {
  for (let row = 0; row < 3; row++) {
    const lengths = [m[row]!, m[4 + row]!, m[8 + row]!].map(Math.abs);
    const largest = Math.max(...lengths);
    if (lengths.filter((length) => length > largest * 1e-6).length > 1) return false;
  }
  return true;
}

/** Extends a box to a transformed point. */
export function addPoint(box: { min: number[]; max: number[] }, m: Matrix, x: number, y: number, z: number): void {
  for (let row = 0; row < 3; row++) {
    const value = m[row]! * x + m[4 + row]! * y + m[8 + row]! * z + m[12 + row]!;
    if (value < box.min[row]!) box.min[row] = value;
    if (value > box.max[row]!) box.max[row] = value;
  }
}
