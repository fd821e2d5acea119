import type { View } from './picture.ts';

/** Where the camera stands: degrees around the product from its front towards its +x side, and above the horizon. */
export interface Stand {
  readonly yawDegrees: number;
  readonly elevationDegrees: number;
}

/** Common practice of catalogues: the hero view 30–35° to the side and 10–15° above, plan views nearly level. */
export const STANDS: Readonly<Record<View, Stand>> = {
  front: { yawDegrees: 0, elevationDegrees: 5 },
  'three-quarter': { yawDegrees: 32, elevationDegrees: 12 },
  'three-quarter-left': { yawDegrees: -32, elevationDegrees: 12 },
  side: { yawDegrees: 90, elevationDegrees: 5 },
  back: { yawDegrees: 180, elevationDegrees: 5 },
  top: { yawDegrees: 0, elevationDegrees: 90 },
};
