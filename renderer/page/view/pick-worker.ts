import type { SerializedBVH } from 'three-mesh-bvh';
import { buildTree, type MergedTriangles, mergeTriangles, numberVertices, type PlacedMesh } from './pick-geometry.ts';

/** Work for the thread: first the meshes of a product, then what each triangle belongs to. */
export type PickTask =
  | { readonly kind: 'build'; readonly meshes: readonly PlacedMesh[] }
  | { readonly kind: 'number'; readonly ofTriangle: Int32Array };

export interface BuiltTree {
  readonly triangles: MergedTriangles;
  readonly tree: SerializedBVH;
}

let index = new Uint32Array();
let vertices = 0;

self.onmessage = ({ data }: MessageEvent<PickTask>) => {
  if (data.kind === 'build') {
    const triangles = mergeTriangles(data.meshes);
    const tree = buildTree(triangles);
    index = triangles.index.slice();
    vertices = triangles.positions.length / 3;
    const moved = [triangles.positions, triangles.index, triangles.starts].map(({ buffer }) => buffer as ArrayBuffer);
    answer({ triangles, tree } satisfies BuiltTree, moved);
  } else {
    const positions = { length: vertices * 3 } as Float32Array;
    const numbers = numberVertices({ positions, index, starts: new Uint32Array() }, data.ofTriangle);
    answer(numbers, [numbers.buffer as ArrayBuffer]);
  }
};

function answer(result: unknown, moved: ArrayBuffer[]): void {
  (self as unknown as Worker).postMessage(result, moved);
}
