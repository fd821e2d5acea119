import { layTile } from '../../core/delivery/repeat-transform.ts';
import { type NormalTurn, toMetres, toUvMap, turnNormals, UNTURNED } from '../../core/delivery/uv-map.ts';
import type { KitItem } from './finish-material.ts';

/**
 * The tangent frame that viewers give a finish on its part, in terms of the surface as the UVs run over it, U to the right;
 * null where there is none. A direction of the finish is counted with the part's mirroring, as maps are laid with it, and so
 * is the frame: it is mirrored where the part's texture transform mirrors.
 *
 * Tangents of the part's own stay what they are, however maps are laid. Without them the frame is made from the coordinates
 * of the normal map (glTF 2.0 §3.7.2.1), with its texture transform: it turns with the map. So do three.js, Babylon.js
 * (`cotangent_frame` of the bump UVs) and the Khronos sample viewer.
 */
export function findTangentFrame(item: KitItem): NormalTurn | null {
  const frame = readFrame(item);
  const [u, v] = [Math.sign(item.lay?.metresPerU ?? 1), Math.sign(item.lay?.metresPerV ?? 1)];
  return frame && (u < 0 || v < 0) ? { xx: u * frame.xx, xy: u * frame.xy, yx: v * frame.yx, yy: v * frame.yy } : frame;
}

function readFrame(item: KitItem): NormalTurn | null {
  if (item.tangents) return UNTURNED;
  if (item.without.has('normal')) return item.partFrame ?? null;
  if (item.bakedNormals) return UNTURNED;
  return readLaid(item) ?? (item.uvFrame ? UNTURNED : null);
}

/**
 * How the normals of the finish's map have to be turned before it is written, since the part's tangents do not turn with it as
 * it is laid; null where they need not be.
 */
export function findMapTurn(item: KitItem): NormalTurn | null {
  if (!item.tangents || item.without.has('normal') || item.bakedNormals) return null;
  const turn = readLaid(item);
  return turn && (turn.xx !== 1 || turn.yy !== 1) ? turn : null;
}

/** The frame of the finish's normal map as it is laid; null without one. */
function readLaid({ finish: { tile, maps }, lay, grainDegrees }: KitItem): NormalTurn | null {
  if (!lay || !tile || !maps.normal) return null;
  return turnNormals(toMetres(toUvMap(layTile(tile, lay, grainDegrees)), lay));
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
