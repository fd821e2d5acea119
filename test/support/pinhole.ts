/**
 * Size in pixels of an extent at a distance from a pinhole camera of 85 mm with a frame of 24 mm, which has `sidePx`
 * pixels.
 */
export function pinholePx(extentM: number, distanceM: number, sidePx: number): number {
  return ((extentM * 85) / distanceM / 24) * sidePx;
}
