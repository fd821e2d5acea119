import { type BufferGeometry, type InstancedMesh, Matrix4, type Mesh, type SkinnedMesh } from 'three';
import { bakePositions } from './bake-positions.ts';
import { keepTriangles } from './build-geometry.ts';
import { LARGEST } from './read-json.ts';

/**
 * Leaves out of a mesh what stands at no finite place in the scene, so that box, frame and shadows of the rest are finite.
 * Answers whether anything is left.
 */
export function dropUnfinite(mesh: Mesh): boolean {
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
  // a vertex that nothing draws any more is measured all the same: it goes where another is
  bad.forEach((isBad, vertex) => {
    if (isBad) copyVertex(geometry, good, vertex);
  });
  keepTriangles(geometry, (vertex) => bad[vertex] === 0);
  mesh.geometry = geometry;
  return geometry.index === null || geometry.index.count > 0;
}

/** Whether that can be told from the largest of its numbers alone. */
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
