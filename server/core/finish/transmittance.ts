import type { LinearRgb } from '../colour/srgb.ts';

/**
 * Share of light that is left after a way through a body, linear RGB 0–1: `c ^ (x / d)`
 * (Beer and Lambert's law as `KHR_materials_volume` states it).
 * @param pathMetres length of the way; the wall's thickness for light that goes straight through
 */
export function transmittance(
  { attenuationColour, attenuationDistance }: { attenuationColour: LinearRgb; attenuationDistance: number },
  pathMetres: number,
): LinearRgb {
  const exponent = pathMetres / attenuationDistance;
  const [r, g, b] = attenuationColour;
  return [r ** exponent, g ** exponent, b ** exponent];
}
