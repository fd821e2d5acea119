import type { Mount, View } from './picture.ts';
import { type CameraPlace, placeCamera } from './place-camera.ts';
import { listFloorRing, turnPoints } from './rig-points.ts';
import { STANDS } from './stands.ts';

/** Share of the frame the product fills in its tighter direction; common practice of catalogues. */
export const PRODUCT_FILL = 0.85;

/** Overall size of a product, mm. */
export interface ProductSize {
  readonly widthMm: number;
  readonly depthMm: number;
  readonly heightMm: number;
}

export interface EstimateCase {
  readonly size: ProductSize;
  readonly mount: Mount;
  readonly view: View;
  readonly widthPx: number;
  readonly heightPx: number;
  /** Share of the frame, 0–1; default `PRODUCT_FILL`. */
  readonly fill?: number;
  readonly marginPx?: number;
  readonly pxPerM?: number | null;
}

/**
 * Where the camera stands for a product that fills its box to the corners. One that leaves its corners free is framed more
 * closely where the view is not square to the box: then the camera is nearer and pixels are smaller, by a fifth at most.
 */
export function estimateCamera({ size, mount, view, fill = PRODUCT_FILL, ...frame }: EstimateCase): CameraPlace {
  const { yawDegrees, elevationDegrees } = STANDS[view];
  const half = { x: size.widthMm / 2000, z: size.depthMm / 2000 };
  const height = size.heightMm / 1000;
  const corners = [-half.x, half.x].flatMap((x) =>
    [0, height].flatMap((y) => [-half.z, half.z].flatMap((z) => [x, y, z])),
  );
  const ring = listFloorRing(mount, {
    middleX: 0,
    middleZ: 0,
    floorY: 0,
    halfX: half.x,
    halfZ: half.z,
    longestSide: Math.max(2 * half.x, 2 * half.z, height),
  });
  return placeCamera({ points: turnPoints(yawDegrees, corners, ring), elevationDegrees, fill, ...frame });
}
