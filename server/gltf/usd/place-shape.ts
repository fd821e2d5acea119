import { type LoadedModel, readAccessor, readIndices } from '../document/read-accessor.ts';
import { isMirror, type Matrix } from '../document/world-matrices.ts';
import { listTriangles } from '../geometry/list-triangles.ts';
import { isPosed, listSkinMatrices, placeVertices } from '../geometry/place-vertices.ts';
import type { Draw } from './list-draws.ts';

/** What a draw shows, placed in the scene: only vertices that it uses. */
export interface Shape {
  readonly kind: 'triangles' | 'lines' | 'points';
  /** x, y, z in metres, relative to the origin. */
  readonly points: Float32Array;
  /** Of triangles alone; null for flat ones, whose vertices are never shared. */
  readonly normals: Float32Array | null;
  /** For each vertex of the shape, the vertex of the primitive. */
  readonly from: Uint32Array;
  /** Vertices of the shape, three for each triangle or two for each line. */
  readonly corners: Uint32Array;
}

const [POINTS, LINES, LINE_LOOP, LINE_STRIP] = [0, 1, 2, 3];

/**
 * Places what a draw shows. Corners out of range or at no finite place are left out. Mirrored parts get their corners in the other
 * order, so that each triangle still shows its front. Without normals, triangles are flat (glTF 2.0 §3.7.2.1).
 * @returns null when nothing of it can be drawn
 */
export function placeShape(
  model: LoadedModel,
  draw: Draw,
  worlds: ReadonlyMap<number, Matrix>,
  origin: readonly number[],
  withNormals = true,
): Shape | null {
  const { primitive, node, matrix } = draw;
  const accessor = primitive.attributes.POSITION;
  if (accessor === undefined) return null;
  const count = model.json.accessors![accessor]!.count;
  const placed = new Float32Array(count * 3);
  if (!placeVertices(model, { node, primitive, matrix }, worlds, placed, 0, origin)) return null;
  const kind = kindOf(primitive.mode);
  const listed = kind === 'triangles' ? listTriangles(model, primitive) : listEnds(model, draw, count);
  if (!listed) return null;
  const size = kind === 'triangles' ? 3 : kind === 'lines' ? 2 : 1;
  const corners = keepFinite(listed, size, placed, count);
  if (corners.length === 0) return null;
  const turning = kind === 'triangles' && isTurnedOver(model, draw, worlds);
  if (turning) for (let at = 0; at < corners.length; at += 3) swap(corners, at + 1, at + 2);
  if (!withNormals) return { kind, corners, from: corners, points: pick(placed, corners), normals: null };
  const normals = kind === 'triangles' ? placeNormals(model, draw, worlds, count) : null;
  return compact(kind, corners, placed, normals, kind === 'triangles' && !normals);
}

function kindOf(mode = 4): Shape['kind'] {
  if (mode === POINTS) return 'points';
  return mode === LINES || mode === LINE_LOOP || mode === LINE_STRIP ? 'lines' : 'triangles';
}

/** Ends of lines in pairs, or points. */
function listEnds(model: LoadedModel, { primitive }: Draw, count: number): Uint32Array | null {
  const { indices, mode } = primitive;
  const listed = indices === undefined ? Uint32Array.from({ length: count }, (_, i) => i) : readIndices(model, indices);
  if (!listed || mode === POINTS) return listed;
  if (mode === LINES) return listed.subarray(0, listed.length - (listed.length % 2));
  const ends: number[] = [];
  for (let i = 1; i < listed.length; i++) ends.push(listed[i - 1]!, listed[i]!);
  if (mode === LINE_LOOP && listed.length > 2) ends.push(listed[listed.length - 1]!, listed[0]!);
  return Uint32Array.from(ends);
}

function keepFinite(listed: Uint32Array, size: number, points: Float32Array, count: number): Uint32Array {
  const kept = new Uint32Array(listed.length);
  let length = 0;
  const isThere = (corner: number) =>
    corner < count && Number.isFinite(points[corner * 3]! + points[corner * 3 + 1]! + points[corner * 3 + 2]!);
  for (let at = 0; at + size <= listed.length; at += size) {
    let whole = true;
    for (let c = 0; c < size; c++) whole &&= isThere(listed[at + c]!);
    if (whole) for (let c = 0; c < size; c++) kept[length++] = listed[at + c]!;
  }
  return kept.slice(0, length);
}

function swap(list: Uint32Array, a: number, b: number): void {
  const held = list[a]!;
  list[a] = list[b]!;
  list[b] = held;
}

function compact(
  kind: Shape['kind'],
  corners: Uint32Array,
  placed: Float32Array,
  normals: Float32Array | null,
  isFlat: boolean,
): Shape {
  let from: Uint32Array;
  let own: Uint32Array;
  if (isFlat || kind === 'points') {
    from = corners;
    own = Uint32Array.from(corners, (_, at) => at);
  } else {
    const used = new Uint8Array(placed.length / 3);
    for (const corner of corners) used[corner] = 1;
    const at = new Uint32Array(used.length);
    let length = 0;
    const kept = new Uint32Array(used.length);
    for (let vertex = 0; vertex < used.length; vertex++) {
      if (used[vertex] === 0) continue;
      kept[length] = vertex;
      at[vertex] = length++;
    }
    from = kept.slice(0, length);
    own = corners.map((corner) => at[corner]!);
  }
  const points = pick(placed, from);
  const shown = kind !== 'triangles' ? null : isFlat ? flatNormals(points) : pick(normals!, from);
  return { kind, points, normals: shown, from, corners: own };
}

/** Three numbers for each vertex that a shape has. */
function pick(values: Float32Array, from: Uint32Array): Float32Array {
  const picked = new Float32Array(from.length * 3);
  for (let i = 0; i < from.length; i++) picked.set(values.subarray(from[i]! * 3, from[i]! * 3 + 3), i * 3);
  return picked;
}

function flatNormals(points: Float32Array): Float32Array {
  const normals = new Float32Array(points.length);
  for (let at = 0; at + 8 < points.length; at += 9) {
    const edge = (to: number, axis: number) => points[at + to * 3 + axis]! - points[at + axis]!;
    const [ax, ay, az] = [edge(1, 0), edge(1, 1), edge(1, 2)];
    const [bx, by, bz] = [edge(2, 0), edge(2, 1), edge(2, 2)];
    const normal = toUnit(ay * bz - az * by, az * bx - ax * bz, ax * by - ay * bx);
    for (let corner = 0; corner < 3; corner++) normals.set(normal, at + corner * 3);
  }
  return normals;
}

/** A direction of length 1. A triangle without an area has none, and looks upwards. */
function toUnit(x: number, y: number, z: number): [number, number, number] {
  const length = Math.hypot(x, y, z);
  return length > 0 && Number.isFinite(length) ? [x / length, y / length, z / length] : [0, 1, 0];
}

/** Whether the order of corners turns: the node mirrors, or the joints that move the vertices do. */
function isTurnedOver(
  model: LoadedModel,
  { node, primitive, matrix }: Draw,
  worlds: ReadonlyMap<number, Matrix>,
): boolean {
  const joints = primitive.attributes.JOINTS_0 === undefined ? null : listSkinMatrices(model, node, worlds);
  return isMirror(joints?.[0] ?? matrix);
}

/** Normals of all vertices in the scene: morphed and skinned as their positions are. Null without normals. */
function placeNormals(
  model: LoadedModel,
  { node, primitive, matrix }: Draw,
  worlds: ReadonlyMap<number, Matrix>,
  count: number,
): Float32Array | null {
  const { NORMAL, JOINTS_0, WEIGHTS_0 } = primitive.attributes;
  const plain = NORMAL === undefined ? null : readAccessor(model, NORMAL);
  if (!plain || plain.length !== count * 3) return null;
  const values = isPosed(model.json, node, primitive) ? morphNormals(model, node, primitive, plain) : plain;
  const joints = JOINTS_0 === undefined ? null : readAccessor(model, JOINTS_0);
  const weights = WEIGHTS_0 === undefined ? null : readAccessor(model, WEIGHTS_0);
  const matrices = listSkinMatrices(model, node, worlds);
  const placed = new Float32Array(values.length);
  const fixed = toNormalMatrix(matrix);
  const isSkinned = matrices && joints?.length === count * 4 && weights?.length === count * 4;
  for (let vertex = 0; vertex < count; vertex++) {
    const m = isSkinned ? toNormalMatrix(blend(matrices, joints, weights, vertex)) : fixed;
    const [x, y, z] = [values[vertex * 3]!, values[vertex * 3 + 1]!, values[vertex * 3 + 2]!];
    const normal = toUnit(
      m[0]! * x + m[3]! * y + m[6]! * z,
      m[1]! * x + m[4]! * y + m[7]! * z,
      m[2]! * x + m[5]! * y + m[8]! * z,
    );
    placed.set(normal, vertex * 3);
  }
  return placed;
}

function morphNormals(
  model: LoadedModel,
  node: number,
  primitive: Draw['primitive'],
  plain: Float32Array,
): Float32Array {
  const { mesh, weights } = model.json.nodes![node]! as { mesh?: number; weights?: readonly number[] };
  const moved = plain.slice();
  for (const [index, weight] of (weights ?? model.json.meshes![mesh!]!.weights ?? []).entries()) {
    const accessor = primitive.targets?.[index]?.NORMAL;
    const deltas = weight === 0 || accessor === undefined ? null : readAccessor(model, accessor);
    if (deltas?.length === moved.length) for (let i = 0; i < moved.length; i++) moved[i]! += deltas[i]! * weight;
  }
  return moved;
}

function blend(matrices: readonly Matrix[], joints: Float32Array, weights: Float32Array, vertex: number): number[] {
  const sum = new Array<number>(16).fill(0);
  for (let influence = vertex * 4; influence < vertex * 4 + 4; influence++) {
    const joint = matrices[joints[influence]!];
    if (joint) for (let i = 0; i < 16; i++) sum[i]! += joint[i]! * weights[influence]!;
  }
  return sum;
}

/** The matrix for normals, column by column: the inverse transpose, up to its length. */
function toNormalMatrix(m: Matrix): number[] {
  const [a, b, c, , d, e, f, , g, h, i] = m as unknown as number[] & { length: 16 };
  const sign = isMirror(m) ? -1 : 1;
  return [
    e! * i! - f! * h!,
    f! * g! - d! * i!,
    d! * h! - e! * g!,
    c! * h! - b! * i!,
    a! * i! - c! * g!,
    b! * g! - a! * h!,
    b! * f! - c! * e!,
    c! * d! - a! * f!,
    a! * e! - b! * d!,
  ].map((value) => value * sign);
}
