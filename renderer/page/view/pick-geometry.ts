import { BufferAttribute, BufferGeometry } from 'three';
import { MeshBVH, type SerializedBVH } from 'three-mesh-bvh';

// The triangles of a product as one list, to be pointed at. This runs in a worker: with a million triangles, building the tree
// takes a second.

/** A mesh as it is placed in the scene. */
export interface PlacedMesh {
  /** Three numbers for each vertex. */
  readonly positions: Float32Array;
  /** Three corners for each triangle; null: vertices in their order. */
  readonly index: Uint32Array | Uint16Array | Uint8Array | null;
  /** One matrix of 16 numbers, column by column, for each place. */
  readonly places: Float32Array;
}

export interface MergedTriangles {
  readonly positions: Float32Array;
  readonly index: Uint32Array;
  /** The first triangle of each mesh, and the number of all. */
  readonly starts: Uint32Array;
}

/** Merges meshes in their order. A mirrored place gets its corners in the opposite order, so that fronts stay fronts. */
export function mergeTriangles(meshes: readonly PlacedMesh[]): MergedTriangles {
  const count = ({ positions, index }: PlacedMesh) => Math.floor((index?.length ?? positions.length / 3) / 3);
  const repeats = ({ places }: PlacedMesh) => places.length / 16;
  const starts = new Uint32Array(meshes.length + 1);
  meshes.forEach((mesh, at) => {
    starts[at + 1] = starts[at]! + count(mesh) * repeats(mesh);
  });
  const positions = new Float32Array(meshes.reduce((sum, mesh) => sum + mesh.positions.length * repeats(mesh), 0));
  const index = new Uint32Array(starts[meshes.length]! * 3);
  let to = 0;
  let corner = 0;
  for (const mesh of meshes) {
    for (let place = 0; place < mesh.places.length; place += 16) {
      const m = mesh.places.subarray(place, place + 16);
      const first = to / 3;
      for (let from = 0; from < mesh.positions.length; from += 3, to += 3) {
        const [x, y, z] = [mesh.positions[from]!, mesh.positions[from + 1]!, mesh.positions[from + 2]!];
        positions[to] = m[0]! * x + m[4]! * y + m[8]! * z + m[12]!;
        positions[to + 1] = m[1]! * x + m[5]! * y + m[9]! * z + m[13]!;
        positions[to + 2] = m[2]! * x + m[6]! * y + m[10]! * z + m[14]!;
      }
      const [second, third] = isMirrored(m) ? [2, 1] : [1, 2];
      for (let at = 0; at < count(mesh) * 3; at += 3, corner += 3) {
        const read = (offset: number) => first + (mesh.index ? mesh.index[at + offset]! : at + offset);
        index[corner] = read(0);
        index[corner + 1] = read(second);
        index[corner + 2] = read(third);
      }
    }
  }
  return { positions, index, starts };
}

function isMirrored(m: Float32Array): boolean {
  const [a, b, c, d, e, f, g, h, i] = [m[0]!, m[1]!, m[2]!, m[4]!, m[5]!, m[6]!, m[8]!, m[9]!, m[10]!];
  return a * (e * i - f * h) - d * (b * i - c * h) + g * (b * f - c * e) < 0;
}

export function toGeometry({ positions, index }: MergedTriangles): BufferGeometry {
  const geometry = new BufferGeometry();
  geometry.setAttribute('position', new BufferAttribute(positions, 3));
  geometry.setIndex(new BufferAttribute(index, 1));
  return geometry;
}

/** Builds the tree; the order of triangles stays. */
export function buildTree(triangles: MergedTriangles): SerializedBVH {
  const tree = new MeshBVH(toGeometry(triangles), { indirect: true });
  return MeshBVH.serialize(tree, { cloneBuffers: false });
}

/**
 * Gives each vertex the number of what its triangle belongs to. Pieces are islands, so a vertex belongs to one of them.
 * @param ofTriangle number of each triangle
 */
export function numberVertices({ positions, index }: MergedTriangles, ofTriangle: Int32Array): Float32Array {
  const numbers = new Float32Array(positions.length / 3);
  for (let corner = 0; corner < index.length; corner++) {
    numbers[index[corner]!] = ofTriangle[Math.floor(corner / 3)]!;
  }
  return numbers;
}
