import type { Tile } from '../finish/finish.ts';
import type { UvFrame } from '../product/survey.ts';
import type { TextureTransform } from './uv-map.ts';

/** UVs in metres, as finishes are laid where nothing else is known. */
export const UVS_IN_METRES: UvFrame = { texCoord: 0, metresPerU: 1, metresPerV: 1, turnDegrees: 0 };

/**
 * Direction of a finish on a part, 0–360 degrees counter-clockwise, as far as its maps can follow it: from V of the UVs,
 * scaled apart and mirrored as `lay` says.
 * @param grainDegrees direction on the part, counter-clockwise, on top of the tile's own and the part's
 */
export function turnOf(tile: Tile | null, lay: Pick<UvFrame, 'turnDegrees'>, grainDegrees: number): number {
  const degrees = wrap((tile?.grainDegrees ?? 0) + grainDegrees + lay.turnDegrees);
  return tile && tile.widthMm !== tile.heightMm ? (Math.round(degrees / 90) * 90) % 360 : degrees;
}

/** Degrees, 0–45, by which the maps of a finish miss the direction asked for; 0 where they follow it. */
export function missedDegrees(tile: Tile | null, lay: Pick<UvFrame, 'turnDegrees'>, grainDegrees: number): number {
  const asked = wrap((tile?.grainDegrees ?? 0) + grainDegrees + lay.turnDegrees);
  const apart = Math.abs(asked - turnOf(tile, lay, grainDegrees));
  return Math.min(apart, 360 - apart);
}

/**
 * Lays one repeat at its true size. UVs are brought to metres, U and V apart; then they are turned; then they are brought
 * to repeats. A texture transform scales before it turns (`KHR_texture_transform`, T · R · S). Both scales can stand before
 * the turn where the repeat is square; where it is not they can for quarter turns, with its sides exchanged, and other angles
 * go to the nearest quarter.
 * @param grainDegrees direction on the part, counter-clockwise, on top of the tile's own and the part's
 * @returns `rotation` only where there is one
 */
export function repeatTransform(
  tile: Tile,
  lay: UvFrame,
  grainDegrees: number,
): Required<Pick<TextureTransform, 'scale'>> & Pick<TextureTransform, 'rotation'> {
  const degrees = turnOf(tile, lay, grainDegrees);
  const exchanged = tile.widthMm !== tile.heightMm && degrees % 180 === 90;
  const across = (lay.metresPerU * 1000) / (exchanged ? tile.heightMm : tile.widthMm);
  const along = (lay.metresPerV * 1000) / (exchanged ? tile.widthMm : tile.heightMm);
  // the transform turns the coordinates, so that the map itself is seen turned the other way
  return { scale: [across, along], ...(degrees !== 0 && { rotation: ((360 - degrees) * Math.PI) / 180 }) };
}

/** Into 0 ≤ degrees < 360; a hair of float noise is no turn. */
function wrap(degrees: number): number {
  return (((Math.round(degrees * 1e9) / 1e9) % 360) + 360) % 360;
}
