import { Matrix4, type PerspectiveCamera, Vector3 } from 'three';

/** Half the short side of the picture over the focal length: 12 mm of a 24 × 36 mm frame behind an 85 mm lens. */
export const LENS_TANGENT = 12 / 85;

export { PRODUCT_FILL } from '../../server/core/picture/estimate-scale.ts';

export interface Framing {
  /** Points the picture must hold, x y z in metres in the rig's frame. */
  readonly points: Float32Array;
  readonly elevationDegrees: number;
  /** Width over height. */
  readonly aspect: number;
  readonly fill: number;
}

/**
 * Places the camera on the rig's azimuth 0 so that the points fill the frame tightly and stand in its middle.
 *
 * With camera axes right, up, back and tangents t of the half angles, a point is inside when ±x + t·z ≤ t·d ± c,
 * d being the distance and c the sideways shift: the extremes of ±x + t·z give the smallest d directly. The slack
 * direction is then centred by a few steps, since perspective makes its two edges depend on the shift.
 */
export function frameView(camera: PerspectiveCamera, framing: Framing): void {
  const { points, aspect, fill } = framing;
  const elevation = (framing.elevationDegrees * Math.PI) / 180;
  const right = new Vector3(1, 0, 0);
  const back = new Vector3(0, Math.sin(elevation), Math.cos(elevation));
  const up = new Vector3(0, Math.cos(elevation), -Math.sin(elevation));
  const tangent = { x: LENS_TANGENT * Math.max(aspect, 1) * fill, y: LENS_TANGENT * Math.max(1 / aspect, 1) * fill };

  const reach = { left: -Infinity, right: -Infinity, down: -Infinity, up: -Infinity, near: -Infinity, far: Infinity };
  const place = new Vector3();
  for (let at = 0; at < points.length; at += 3) {
    const [x, y, z] = project(points, at, right, up, back, place);
    reach.right = Math.max(reach.right, x + tangent.x * z);
    reach.left = Math.max(reach.left, -x + tangent.x * z);
    reach.up = Math.max(reach.up, y + tangent.y * z);
    reach.down = Math.max(reach.down, -y + tangent.y * z);
    reach.near = Math.max(reach.near, z);
    reach.far = Math.min(reach.far, z);
  }
  const depth = Math.max(reach.near - reach.far, 1e-6);
  const distance = Math.max(
    (reach.right + reach.left) / (2 * tangent.x),
    (reach.up + reach.down) / (2 * tangent.y),
    reach.near + depth * 0.05,
  );
  let [shiftX, shiftY] = [(reach.right - reach.left) / 2, (reach.up - reach.down) / 2];
  for (let step = 0; step < 4; step++) {
    const edge = { left: Infinity, right: -Infinity, down: Infinity, up: -Infinity };
    for (let at = 0; at < points.length; at += 3) {
      const [x, y, z] = project(points, at, right, up, back, place);
      const away = distance - z;
      edge.left = Math.min(edge.left, (x - shiftX) / away);
      edge.right = Math.max(edge.right, (x - shiftX) / away);
      edge.down = Math.min(edge.down, (y - shiftY) / away);
      edge.up = Math.max(edge.up, (y - shiftY) / away);
    }
    const middle = distance - (reach.near + reach.far) / 2;
    shiftX += ((edge.left + edge.right) / 2) * middle;
    shiftY += ((edge.down + edge.up) / 2) * middle;
  }

  const position = new Vector3()
    .addScaledVector(right, shiftX)
    .addScaledVector(up, shiftY)
    .addScaledVector(back, distance);
  camera.matrixAutoUpdate = false;
  camera.matrix.copy(new Matrix4().makeBasis(right, up, back).setPosition(position));
  camera.matrix.decompose(camera.position, camera.quaternion, camera.scale);
  camera.fov = (2 * Math.atan(LENS_TANGENT * Math.max(1 / aspect, 1)) * 180) / Math.PI;
  camera.aspect = aspect;
  // room for the floor around the product on both sides
  camera.near = Math.max(distance - reach.near - depth * 1.5, distance * 0.02);
  camera.far = distance - reach.far + depth * 6;
  camera.updateProjectionMatrix();
  camera.updateMatrixWorld(true);
}

function project(
  points: Float32Array,
  at: number,
  right: Vector3,
  up: Vector3,
  back: Vector3,
  place: Vector3,
): readonly [number, number, number] {
  place.set(points[at]!, points[at + 1]!, points[at + 2]!);
  return [place.dot(right), place.dot(up), place.dot(back)];
}
