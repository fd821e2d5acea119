/** Pixels of an extent at a distance from a pinhole of 85 mm before a frame of 24 mm, which has so many pixels. */
export function pinholePx(extentM: number, distanceM: number, sidePx: number): number {
  return ((extentM * 85) / distanceM / 24) * sidePx;
}
