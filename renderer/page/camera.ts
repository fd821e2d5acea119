import { Box2, type Box3, Matrix4, type OrthographicCamera, type PerspectiveCamera, Vector2, Vector3 } from 'three';
import { type CameraCase, type CameraPlace, placeCamera } from '../../server/core/picture/place-camera.ts';
import { intersect, type Tile } from '../tiles.ts';
import { sobol, vanDerCorput } from './light-directions.ts';

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

/** Subsamples of a picture: few during editing, sixteen for stored pictures, sixty-four for close examination. */
export const SUBSAMPLES = { draft: 4, still: 16, fine: 64 } as const;

interface Offset {
  /** Shift of the pixel grid, −0.5–0.5 px. */
  readonly x: number;
  readonly y: number;
}

/**
 * The place of subsample `index` inside the pixel: a (0,2)-sequence. The first 4 and the first 16 have one point in
 * each row, each column and each square of the pixel. A slanted edge therefore gets as many levels as there are points.
 */
export function getOffset(index: number): Offset {
  // The middle of the smallest cell of sixteen. The next forty-eight fill the cells around it.
  const half = index < 16 ? 1 / 32 : 1 / 128;
  return { x: vanDerCorput(index) + half - 0.5, y: sobol(index) + half - 0.5 };
}

export type Size = Pick<Tile, 'widthPx' | 'heightPx'>;

/** Pixels around a visible box: half of one for the shift of subsamples, the rest for rounding. */
const MARGIN_PX = 2;

/** Where a box of the turntable may be visible in the picture, in whole pixels, edges included. */
export function getVisibleBox(
  { min, max }: Box3,
  turned: Matrix4,
  camera: PerspectiveCamera | OrthographicCamera,
  { widthPx, heightPx }: Size,
): Tile {
  const whole = { left: 0, top: 0, widthPx, heightPx };
  const reach = new Box2();
  const corner = new Vector3();
  for (let index = 0; index < 8; index++) {
    corner.set(index & 1 ? max.x : min.x, index & 2 ? max.y : min.y, index & 4 ? max.z : min.z).applyMatrix4(turned);
    // A corner behind the camera has no place in the picture.
    if (corner.clone().applyMatrix4(camera.matrixWorldInverse).z > -camera.near) return whole;
    corner.project(camera);
    reach.expandByPoint(new Vector2(((corner.x + 1) / 2) * widthPx, ((1 - corner.y) / 2) * heightPx));
  }
  const left = Math.floor(reach.min.x) - MARGIN_PX;
  const top = Math.floor(reach.min.y) - MARGIN_PX;
  const size = {
    widthPx: Math.ceil(reach.max.x) + MARGIN_PX - left,
    heightPx: Math.ceil(reach.max.y) + MARGIN_PX - top,
  };
  return intersect(whole, { left, top, ...size });
}
