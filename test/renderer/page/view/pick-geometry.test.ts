import { DoubleSide, Ray, Vector3 } from 'three';
import { MeshBVH } from 'three-mesh-bvh';
import { describe, expect, it } from 'vitest';
import { buildTree, mergeTriangles, numberVertices, toGeometry } from '../../../../renderer/page/view/pick-geometry.ts';

/** A triangle in the plane z = 0 whose front is +z, and a matrix that moves by x and scales along z. */
const TRIANGLE = Float32Array.of(0, 0, 0, 1, 0, 0, 0, 1, 0);
const move = (x: number, scaleX = 1) => [scaleX, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0, x, 0, 0, 1];

describe('the triangles of a product', () => {
  it('are placed as often as each mesh stands in the scene, in the order of the meshes', () => {
    const merged = mergeTriangles([
      { positions: TRIANGLE, index: null, places: Float32Array.from(move(10)) },
      { positions: TRIANGLE, index: Uint16Array.of(2, 0, 1), places: Float32Array.from([...move(20), ...move(30)]) },
    ]);
    expect([...merged.starts]).toEqual([0, 1, 3]);
    expect([...merged.index]).toEqual([0, 1, 2, 5, 3, 4, 8, 6, 7]);
    expect([...merged.positions].filter((_, at) => at % 3 === 0)).toEqual([10, 11, 10, 20, 21, 20, 30, 31, 30]);
  });

  it('keep their fronts where a place mirrors them', () => {
    const merged = mergeTriangles([{ positions: TRIANGLE, index: null, places: Float32Array.from(move(0, -1)) }]);
    const [a, b, c] = [0, 1, 2].map((corner) =>
      new Vector3().fromArray(merged.positions, merged.index[corner]! * 3),
    ) as [Vector3, Vector3, Vector3];
    expect(b.sub(a).cross(c.sub(a)).z).toBeGreaterThan(0);
  });

  it('give their numbers to their vertices', () => {
    const merged = mergeTriangles([
      { positions: TRIANGLE, index: null, places: Float32Array.from([...move(0), ...move(5)]) },
    ]);
    expect([...numberVertices(merged, Int32Array.of(4, 7))]).toEqual([4, 4, 4, 7, 7, 7]);
  });
});

it('a ray finds the triangle by its place in the file, through the tree that a worker has built', () => {
  // a row of triangles along x, one metre apart, in an order that the tree would like to change
  const order = [3, 0, 2, 1];
  const merged = mergeTriangles(
    order.map((x) => ({ positions: TRIANGLE, index: null, places: Float32Array.from(move(x * 2)) })),
  );
  const tree = MeshBVH.deserialize(structuredClone(buildTree(merged)), toGeometry(merged), { setIndex: false });
  for (const [triangle, x] of order.entries()) {
    const ray = new Ray(new Vector3(x * 2 + 0.25, 0.25, 5), new Vector3(0, 0, -1));
    expect(tree.raycastFirst(ray, DoubleSide)?.faceIndex).toBe(triangle);
  }
});
