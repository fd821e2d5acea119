import { Matrix4, type PerspectiveCamera, Vector3 } from 'three';
import { type CameraCase, type CameraPlace, placeCamera } from '../../server/core/picture/place-camera.ts';

/** Places the camera on the rig's azimuth 0; see `placeCamera`. */
export function frameView(camera: PerspectiveCamera, given: CameraCase): CameraPlace {
  const { widthPx, heightPx } = given;
  const place = placeCamera(given);
  const elevation = (given.elevationDegrees * Math.PI) / 180;
  const right = new Vector3(1, 0, 0);
  const back = new Vector3(0, Math.sin(elevation), Math.cos(elevation));
  const up = new Vector3(0, Math.cos(elevation), -Math.sin(elevation));
  const position = new Vector3()
    .addScaledVector(right, place.right)
    .addScaledVector(up, place.up)
    .addScaledVector(back, place.back);
  camera.matrixAutoUpdate = false;
  camera.matrix.copy(new Matrix4().makeBasis(right, up, back).setPosition(position));
  camera.matrix.decompose(camera.position, camera.quaternion, camera.scale);
  camera.fov = (2 * Math.atan((place.tangent * heightPx) / Math.min(widthPx, heightPx)) * 180) / Math.PI;
  camera.aspect = widthPx / heightPx;
  camera.near = place.near;
  camera.far = place.far;
  camera.updateProjectionMatrix();
  camera.updateMatrixWorld(true);
  return place;
}

export { STANDS, type Stand } from '../../server/core/picture/place-camera.ts';
