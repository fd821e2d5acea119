import {
  BufferAttribute,
  BufferGeometry,
  DoubleSide,
  Group,
  type Material,
  type Matrix4,
  Mesh,
  MeshBasicMaterial,
  Scene,
} from 'three';
import { bakePositions, getInstances } from './build-geometry.ts';
import { getCast } from './studio-shading.ts';

/** Geometry that stops light: static meshes that turn with the product. */
export interface Casters {
  readonly scene: Scene;
  turn(matrix: Matrix4): void;
  dispose(): void;
}

/**
 * @param cell metres; depth maps show no smaller detail
 * @param turned current rotation of the turntable
 */
export function createCasters(meshes: readonly Mesh[], turned: Matrix4, cell: number): Casters {
  const fromWorld = turned.clone().invert();
  const materials: Material[] = [];
  const geometries: BufferGeometry[] = [];
  const group = new Group();
  const add = (geometry: BufferGeometry, material: Material) => {
    const mesh = new Mesh(geometry, material);
    mesh.frustumCulled = false;
    group.add(mesh);
    geometries.push(geometry);
    materials.push(material);
  };
  const solid = meshes.filter((mesh) => getCast(mesh.material as Material) === 'solid');
  if (solid.length > 0) {
    add(mergeSolid(solid, fromWorld, cell), new MeshBasicMaterial({ side: DoubleSide, colorWrite: false }));
  }
  for (const mesh of meshes) {
    const material = mesh.material as MeshBasicMaterial;
    if (getCast(material) !== 'holes') continue;
    const threshold = material.alphaTest > 0 ? material.alphaTest : 0.5;
    add(
      bakeWithUvs(mesh, fromWorld),
      new MeshBasicMaterial({ side: DoubleSide, colorWrite: false, map: material.map, alphaTest: threshold }),
    );
  }
  const scene = new Scene();
  scene.add(group);
  group.matrixAutoUpdate = false;
  return {
    scene,
    turn(matrix) {
      group.matrix.copy(matrix);
      scene.updateMatrixWorld(true);
    },
    dispose() {
      for (const part of [...geometries, ...materials]) part.dispose();
    },
  };
}

/** A key of the depth maps: which meshes stop light, and how. */
export function describeCasters(meshes: readonly Mesh[]): string {
  return meshes
    .map((mesh) => {
      const material = mesh.material as MeshBasicMaterial;
      const cast = getCast(material);
      return cast === 'holes' ? `holes ${material.map?.uuid} ${material.alphaTest}` : cast;
    })
    .join('|');
}

function mergeSolid(meshes: readonly Mesh[], fromWorld: Matrix4, cell: number): BufferGeometry {
  const positions: Float32Array[] = [];
  const indices: Uint32Array[] = [];
  let first = 0;
  for (const mesh of meshes) {
    const baked = bakePositions(mesh, fromWorld);
    positions.push(baked);
    indices.push(listIndices(mesh, first));
    first += baked.length / 3;
  }
  const merged = clusterTriangles(
    { positions: concat(positions, Float32Array), indices: concat(indices, Uint32Array) },
    cell,
  );
  const geometry = new BufferGeometry();
  geometry.setAttribute('position', new BufferAttribute(merged.positions, 3));
  geometry.setIndex(new BufferAttribute(merged.indices, 1));
  return geometry;
}

function bakeWithUvs(mesh: Mesh, fromWorld: Matrix4): BufferGeometry {
  const geometry = new BufferGeometry();
  geometry.setAttribute('position', new BufferAttribute(bakePositions(mesh, fromWorld), 3));
  geometry.setIndex(new BufferAttribute(listIndices(mesh, 0), 1));
  const instances = getInstances(mesh);
  // A map may use any UV set.
  for (const name of ['uv', 'uv1', 'uv2', 'uv3']) {
    const uv = mesh.geometry.getAttribute(name);
    if (!uv) continue;
    const pairs = new Float32Array(uv.count * 2 * instances);
    for (let index = 0; index < uv.count * instances; index++) {
      pairs[index * 2] = uv.getX(index % uv.count);
      pairs[index * 2 + 1] = uv.getY(index % uv.count);
    }
    geometry.setAttribute(name, new BufferAttribute(pairs, 2));
  }
  return geometry;
}

function listIndices(mesh: Mesh, first: number): Uint32Array {
  const { index } = mesh.geometry;
  const { count } = mesh.geometry.getAttribute('position');
  const length = index?.count ?? count;
  const indices = new Uint32Array(length * getInstances(mesh));
  for (let at = 0; at < indices.length; at++) {
    const within = at % length;
    indices[at] = first + Math.floor(at / length) * count + (index ? index.getX(within) : within);
  }
  return indices;
}

function concat<Kind extends Float32Array | Uint32Array>(
  parts: readonly Kind[],
  kind: new (length: number) => Kind,
): Kind {
  const whole = new kind(parts.reduce((sum, part) => sum + part.length, 0));
  let at = 0;
  for (const part of parts) {
    whole.set(part, at);
    at += part.length;
  }
  return whole;
}

/** An indexed set of triangles. */
interface Triangles {
  readonly positions: Float32Array;
  readonly indices: Uint32Array;
}

/**
 * Merges vertices that share a cell of a grid into their mean, and drops triangles that vanish or repeat. A depth map cannot
 * show detail below its texels, and software GL pays for every triangle in each of a hundred maps: a lamp with a woven cord
 * loses most of its 116,000. Large faces do not change.
 */
function clusterTriangles({ positions, indices }: Triangles, cell: number): Triangles {
  const clusters = new Map<string | number, number>();
  const of = new Uint32Array(positions.length / 3);
  const sums: number[] = [];
  const counts: number[] = [];
  for (let vertex = 0; vertex < of.length; vertex++) {
    const [x, y, z] = [positions[vertex * 3]!, positions[vertex * 3 + 1]!, positions[vertex * 3 + 2]!];
    const key = getKey(Math.floor(x / cell), Math.floor(y / cell), Math.floor(z / cell));
    let cluster = clusters.get(key);
    if (cluster === undefined) {
      cluster = counts.length;
      clusters.set(key, cluster);
      counts.push(0);
      sums.push(0, 0, 0);
    }
    of[vertex] = cluster;
    counts[cluster]!++;
    sums[cluster * 3]! += x;
    sums[cluster * 3 + 1]! += y;
    sums[cluster * 3 + 2]! += z;
  }
  const merged = new Float32Array(sums.length);
  for (let at = 0; at < merged.length; at++) merged[at] = sums[at]! / counts[Math.floor(at / 3)]!;

  const kept: number[] = [];
  const seen = new Set<string | number>();
  for (let at = 0; at + 2 < indices.length; at += 3) {
    const [a, b, c] = [of[indices[at]!]!, of[indices[at + 1]!]!, of[indices[at + 2]!]!];
    if (a === b || b === c || c === a) continue;
    const low = Math.min(a, b, c);
    const high = Math.max(a, b, c);
    const key = getKey(low, a + b + c - low - high, high);
    if (seen.has(key)) continue;
    seen.add(key);
    kept.push(a, b, c);
  }
  return { positions: merged, indices: new Uint32Array(kept) };
}

/** Three numbers of seventeen bits make one exact number; larger ones become text. */
function getKey(a: number, b: number, c: number): string | number {
  const half = 65_536;
  const [x, y, z] = [a + half, b + half, c + half];
  const room = half * 2;
  if (x < 0 || y < 0 || z < 0 || x >= room || y >= room || z >= room) return `${a},${b},${c}`;
  return (x * room + y) * room + z;
}
