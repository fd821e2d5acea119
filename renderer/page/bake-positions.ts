import { type InstancedMesh, Matrix4, type Mesh, Vector3 } from 'three';

/**
 * World positions of a mesh’s vertices taken through `fromWorld`, x y z, every `stride`th: skins and
 * morph targets at rest, instances one after the other.
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
