import {
  BufferAttribute,
  BufferGeometry,
  type InstancedMesh,
  Matrix4,
  type Mesh,
  type SkinnedMesh,
  TriangleFanDrawMode,
  TriangleStripDrawMode,
  type TypedArray,
  Vector3,
} from 'three';
import { toTrianglesDrawMode } from 'three/examples/jsm/utils/BufferGeometryUtils.js';
import { breathe } from './breathe.ts';
import type { DracoDecoder } from './decoders.ts';
import {
  asIndex,
  asList,
  asObject,
  FileFault,
  type GltfDocument,
  getExtension,
  type Json,
  LARGEST,
} from './gltf-document.ts';
import type { AccessorReader } from './read-accessor.ts';

export interface GeometrySource {
  readonly document: GltfDocument;
  readonly accessors: AccessorReader;
  readonly draco: DracoDecoder;
}

/** The attributes that the studio uses: three's name, and how many numbers each may have. */
const ATTRIBUTES: Readonly<Record<string, readonly [name: string, sizes: readonly number[]]>> = {
  POSITION: ['position', [3]],
  NORMAL: ['normal', [3]],
  TANGENT: ['tangent', [4]],
  TEXCOORD_0: ['uv', [2]],
  TEXCOORD_1: ['uv1', [2]],
  TEXCOORD_2: ['uv2', [2]],
  TEXCOORD_3: ['uv3', [2]],
  COLOR_0: ['color', [3, 4]],
  JOINTS_0: ['skinIndex', [4]],
  WEIGHTS_0: ['skinWeight', [4]],
};

const TRIANGLES = 4;
const MODES: Readonly<Record<number, number | null>> = {
  [TRIANGLES]: null,
  5: TriangleStripDrawMode,
  6: TriangleFanDrawMode,
};

/** Whether a primitive draws triangles. Pictures omit points and lines, which are no part of a product. */
export function drawsTriangles({ mode = TRIANGLES }: Json): boolean {
  return (mode as number) in MODES;
}

/**
 * Reads the triangles of a primitive. It omits unusable optional attributes, and triangles with a missing corner.
 * @param targets morph targets that move it at rest
 * @throws FileFault if no triangle is left
 */
export async function buildGeometry(
  source: GeometrySource,
  primitive: Json,
  targets: readonly number[],
): Promise<BufferGeometry> {
  const { accessors } = source;
  await breathe();
  const unpacked = await unpack(source, primitive);
  let geometry = unpacked ?? new BufferGeometry();
  const listed = asObject(primitive.attributes);
  if (!geometry.hasAttribute('position')) {
    if (listed.POSITION === undefined) throw new FileFault('It has no positions.');
    geometry.setAttribute('position', await accessors.read(listed.POSITION));
  }
  if (!isFit(geometry, 'POSITION')) throw new FileFault('Positions are not three numbers each.');
  for (const [name, [known]] of Object.entries(ATTRIBUTES)) {
    if (listed[name] !== undefined && !geometry.hasAttribute(known)) {
      const attribute = await accessors.read(listed[name]).catch(() => undefined);
      if (attribute) geometry.setAttribute(known, attribute);
    }
    if (name === 'POSITION' || !geometry.hasAttribute(known)) continue;
    if (isFit(geometry, name)) zeroStrange(geometry.getAttribute(known).array as TypedArray);
    else geometry.deleteAttribute(known);
  }
  if (primitive.indices !== undefined && !geometry.index) {
    const indices = await accessors.read(primitive.indices);
    if (indices.itemSize !== 1 || !isWhole(indices.array)) throw new FileFault('Indices are not whole numbers.');
    geometry.setIndex(indices);
  }
  const mode = MODES[(primitive.mode as number | undefined) ?? TRIANGLES];
  // Draco returns triangles for any mode of the primitive.
  if (typeof mode === 'number' && !unpacked)
    geometry = toTrianglesDrawMode(geometry, mode as typeof TriangleStripDrawMode);
  dropStrangeIndices(geometry);
  await addTargets(source, geometry, primitive, targets);
  return geometry;
}

async function unpack({ document, draco }: GeometrySource, primitive: Json): Promise<BufferGeometry | undefined> {
  const packing = getExtension(primitive, 'KHR_draco_mesh_compression');
  if (!packing) return undefined;
  try {
    return await draco.decode(document, primitive, packing);
  } catch (error) {
    // Some files also contain the unpacked geometry.
    const position = document.list('accessors')[asIndex(asObject(primitive.attributes).POSITION) ?? -1];
    if (position?.bufferView !== undefined) return undefined;
    throw error;
  }
}

/** Whether an attribute has the right number of values for every vertex. */
function isFit(geometry: BufferGeometry, name: string): boolean {
  const [known, sizes] = ATTRIBUTES[name]!;
  const attribute = geometry.getAttribute(known);
  return (
    sizes.includes(attribute.itemSize) &&
    // GL would pass only this type to a shader as integers.
    !(attribute.array instanceof Uint32Array) &&
    attribute.count >= geometry.getAttribute('position').count
  );
}

function isWhole(array: TypedArray): boolean {
  return array instanceof Uint8Array || array instanceof Uint16Array || array instanceof Uint32Array;
}

/** Replaces values that are not finite with 0. */
function zeroStrange(array: TypedArray): void {
  if (!(array instanceof Float32Array)) return;
  for (let at = 0; at < array.length; at++) if (!Number.isFinite(array[at]!)) array[at] = 0;
}

function dropStrangeIndices(geometry: BufferGeometry): void {
  const { index } = geometry;
  if (!index) return;
  const { count } = geometry.getAttribute('position');
  keepTriangles(geometry, (corner) => corner < count);
}

/** Leaves out triangles that have a bad corner. */
function keepTriangles(geometry: BufferGeometry, isGood: (vertex: number) => boolean): void {
  const index = geometry.index;
  const length = index?.count ?? geometry.getAttribute('position').count;
  const corner = (at: number) => (index ? index.getX(at) : at);
  let good = 0;
  const kept = new Uint32Array(length);
  for (let at = 0; at + 2 < length; at += 3) {
    const corners = [corner(at), corner(at + 1), corner(at + 2)] as const;
    if (!corners.every(isGood)) continue;
    kept.set(corners, good);
    good += 3;
  }
  if (good < length - (length % 3)) geometry.setIndex(new BufferAttribute(kept.slice(0, good), 1));
}

/** Adds the morph targets. A target without an attribute that others have moves it by 0. */
async function addTargets(
  { accessors }: GeometrySource,
  geometry: BufferGeometry,
  primitive: Json,
  targets: readonly number[],
): Promise<void> {
  const all = asList(primitive.targets).map(asObject);
  for (const name of ['POSITION', 'NORMAL', 'COLOR_0'] as const) {
    const known = ATTRIBUTES[name]![0] as 'position' | 'normal' | 'color';
    if (!geometry.hasAttribute(known) || !targets.some((target) => all[target]?.[name] !== undefined)) continue;
    const { count, itemSize } = geometry.getAttribute(known);
    geometry.morphAttributes[known] = await Promise.all(
      targets.map(async (target) => {
        const moved = await accessors.read(all[target]?.[name]).catch(() => undefined);
        if (moved?.itemSize !== itemSize || moved.count !== count) {
          return new BufferAttribute(new Float32Array(count * itemSize), itemSize);
        }
        zeroStrange(moved.array as TypedArray);
        return moved;
      }),
    );
  }
  geometry.morphTargetsRelative = true;
}

/**
 * World positions of a mesh’s vertices, transformed by `fromWorld`: x y z of every `stride`th vertex, skins and morph
 * targets at rest, instances one after the other.
 */
export function bakePositions(mesh: Mesh, fromWorld: Matrix4, stride = 1): Float32Array {
  const { count } = mesh.geometry.getAttribute('position');
  const instances = getInstances(mesh);
  const baked = new Float32Array(Math.ceil(count / stride) * instances * 3);
  const whole = new Matrix4().multiplyMatrices(fromWorld, mesh.matrixWorld);
  const matrix = new Matrix4();
  const point = new Vector3();
  let at = 0;
  for (let instance = 0; instance < instances; instance++) {
    matrix.copy(whole);
    if ((mesh as InstancedMesh).isInstancedMesh) {
      (mesh as InstancedMesh).getMatrixAt(instance, matrix);
      matrix.premultiply(whole);
    }
    for (let index = 0; index < count; index += stride) {
      mesh.getVertexPosition(index, point).applyMatrix4(matrix).toArray(baked, at);
      at += 3;
    }
  }
  return baked;
}

/** Positions of several meshes in the scene, one after the other. */
export function bakeAllPositions(meshes: readonly Mesh[], stride = 1): Float32Array {
  const parts = meshes.map((mesh) => bakePositions(mesh, new Matrix4(), stride));
  const points = new Float32Array(parts.reduce((sum, { length }) => sum + length, 0));
  let at = 0;
  for (const part of parts) {
    points.set(part, at);
    at += part.length;
  }
  return points;
}

export function getInstances(mesh: Mesh): number {
  return (mesh as InstancedMesh).isInstancedMesh ? (mesh as InstancedMesh).count : 1;
}

/**
 * Removes the triangles of a mesh that have no finite position in the scene, which keeps box, frame and shadows of the
 * rest finite. Returns whether any triangle is left.
 */
export function dropNonFinite(mesh: Mesh): boolean {
  if (staysFinite(mesh)) return true;
  const { count } = mesh.geometry.getAttribute('position');
  const bad = new Uint8Array(count);
  bakePositions(mesh, new Matrix4()).forEach((value, at) => {
    if (!Number.isFinite(value)) bad[Math.floor(at / 3) % count] = 1;
  });
  const good = bad.indexOf(0);
  if (good < 0) return false;
  if (!bad.includes(1)) return true;
  const geometry = mesh.geometry.clone();
  // Unused vertices are measured too, so they move to the place of another.
  bad.forEach((isBad, vertex) => {
    if (isBad) copyVertex(geometry, good, vertex);
  });
  keepTriangles(geometry, (vertex) => bad[vertex] === 0);
  mesh.geometry = geometry;
  return geometry.index === null || geometry.index.count > 0;
}

/** Whether the largest absolute value alone proves that all positions stay finite. */
function staysFinite(mesh: Mesh): boolean {
  const { geometry } = mesh;
  const isMoved = (mesh as SkinnedMesh).isSkinnedMesh || Object.keys(geometry.morphAttributes).length > 0;
  const { array } = geometry.getAttribute('position');
  let largest = 0;
  for (let at = 0; at < array.length; at++) {
    const size = Math.abs(array[at]!);
    if (!(size <= LARGEST)) return false;
    if (size > largest) largest = size;
  }
  const reach = (matrix: Matrix4, size: number) => {
    const m = matrix.elements;
    return Math.max(
      ...[0, 1, 2].map(
        (row) => (Math.abs(m[row]!) + Math.abs(m[row + 4]!) + Math.abs(m[row + 8]!)) * size + Math.abs(m[row + 12]!),
      ),
    );
  };
  if ((mesh as InstancedMesh).isInstancedMesh) {
    const instances = mesh as InstancedMesh;
    const matrix = new Matrix4();
    const one = largest;
    for (let index = 0; index < instances.count; index++) {
      instances.getMatrixAt(index, matrix);
      largest = Math.max(largest, reach(matrix, one));
    }
  }
  return !isMoved && reach(mesh.matrixWorld, largest) <= LARGEST;
}

function copyVertex(geometry: BufferGeometry, from: number, to: number): void {
  for (const attribute of [...Object.values(geometry.attributes), ...Object.values(geometry.morphAttributes).flat()]) {
    for (let component = 0; component < attribute.itemSize; component++) {
      attribute.setComponent(to, component, attribute.getComponent(from, component));
    }
  }
}
