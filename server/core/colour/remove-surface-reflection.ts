/** Three numbers of a linear colour: XYZ or linear RGB. */
type Three = readonly [number, number, number];

/** Index of refraction of ordinary lacquers, plastics and of glTF's default dielectric. */
export const USUAL_IOR = 1.5;

export interface WithoutSurface<T extends Three> {
  readonly colour: T;
  /** Share of the light that the surface gives back, 0–1. */
  readonly share: number;
  /** What lay below that share and was cut at 0, by channel, as a share of the white: a reading darker than can be. */
  readonly clamped: readonly [number, number, number];
}

/** Reflectance 0–1 of a smooth dielectric of this index met squarely from the air (Fresnel). */
export function surfaceShare(ior: number): number {
  return ((ior - 1) / (ior + 1)) ** 2;
}

/**
 * Takes the reflection of the surface out of a reading that includes it (di:8) of anything but metal.
 *
 * The model is what a glTF renderer does, backwards: it shows F of the white and 1 − F of the base colour, F being the
 * Fresnel reflectance of the index at 0° (0.04 for 1.5; 8° changes it by 0.00004). So the base is
 * (reading − F · white) / (1 − F): a white reading of 100 stays 100, a perfect black, which reads Y = 4 (L* 23.7), is 0,
 * and a true L* 9 reads 26.6. Light that is thrown back inside the surface (Saunderson) is left aside, since glTF's
 * diffuse term leaves it aside too.
 *
 * @param colour XYZ, or linear RGB
 * @param white the perfect white in the same terms: XYZ of `WHITE_POINTS`, or 1, 1, 1
 */
export function removeSurfaceReflection(colour: Three, white: Three, ior = USUAL_IOR): WithoutSurface<Three> {
  const share = surfaceShare(ior);
  const base = ([0, 1, 2] as const).map((i) => (colour[i] / white[i] - share) / (1 - share));
  const kept = (i: 0 | 1 | 2) => Math.max(0, base[i]!) * white[i];
  const cut = (i: 0 | 1 | 2) => Math.max(0, -base[i]!);
  return { colour: [kept(0), kept(1), kept(2)], share, clamped: [cut(0), cut(1), cut(2)] };
}
