import type { Tile } from '../finish/finish.ts';
import type { TextureTransform } from './uv-map.ts';

/** Direction of a finish on a part, 0–360 degrees counter-clockwise, as far as its maps can follow it. */
export function turnOf(tile: Tile | null, grainDegrees: number): number {
  const degrees = ((((tile?.grainDegrees ?? 0) + grainDegrees) % 360) + 360) % 360;
  return tile && tile.widthMm !== tile.heightMm ? (Math.round(degrees / 90) * 90) % 360 : degrees;
}

/**
 * Lays one repeat at its true size: `scale` is UV units × metres per unit ÷ metres per repeat.
 * A transform scales before it turns, so a repeat that is not square can be turned by quarters only, with its sides
 * exchanged; other angles of such a repeat go to the nearest quarter.
 * @param grainDegrees direction on the part, counter-clockwise, on top of the tile's own
 * @returns `rotation` only where there is one
 */
export function layTile(
  tile: Tile,
  metresPerUv: number,
  grainDegrees: number,
): Required<Pick<TextureTransform, 'scale'>> & Pick<TextureTransform, 'rotation'> {
  const degrees = turnOf(tile, grainDegrees);
  const exchanged = tile.widthMm !== tile.heightMm && degrees % 180 === 90;
  const across = (metresPerUv * 1000) / (exchanged ? tile.heightMm : tile.widthMm);
  const along = (metresPerUv * 1000) / (exchanged ? tile.widthMm : tile.heightMm);
  // the transform turns the coordinates, so that the map itself is seen turned the other way
  return { scale: [across, along], ...(degrees !== 0 && { rotation: ((360 - degrees) * Math.PI) / 180 }) };
}
