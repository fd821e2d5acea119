import { layTile } from '../../core/delivery/lay-tile.ts';
import { type NormalTurn, toUvMap, turnNormals, UNTURNED } from '../../core/delivery/uv-map.ts';
import type { KitItem } from './finish-kit.ts';

/**
 * The tangent frame that viewers give a finish on its part, in terms of the UVs as they are; null where there is none.
 *
 * Tangents of the part's own stay what they are, however maps are laid. Without them the frame is made from the coordinates
 * of the normal map (glTF 2.0 §3.7.2.1), with its texture transform: it turns with the map. So do three.js, Babylon.js
 * (`cotangent_frame` of the bump UVs) and the Khronos sample viewer.
 */
export function findTangentFrame(item: KitItem): NormalTurn | null {
  const { finish, metresPerUv, without, grainDegrees } = item;
  if (item.tangents) return UNTURNED;
  if (without.has('normal')) return item.partFrame ?? null;
  if (item.bakedNormals) return UNTURNED;
  if (metresPerUv !== null && finish.tile && finish.maps.normal) {
    return turnNormals(toUvMap(layTile(finish.tile, metresPerUv, grainDegrees)));
  }
  return item.uvFrame ? UNTURNED : null;
}

const CIRCLE = 2 * Math.PI;

/**
 * A direction on the part in a frame of its own: radians counter-clockwise from where the frame's x goes, 0 ≤ angle < 2 π.
 * A mirrored frame counts the other way round.
 */
export function turnInto({ xx, xy, yx, yy }: NormalTurn, radians: number): number {
  const [x, y] = [Math.cos(radians), Math.sin(radians)];
  const angle = Math.atan2(xy * x + yy * y, xx * x + yx * y);
  // what is a hair below 0 is 0, not a full turn
  return (Math.round(angle * 1e9) / 1e9 + CIRCLE) % CIRCLE;
}
