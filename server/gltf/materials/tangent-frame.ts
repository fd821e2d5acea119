import {
  type NormalTurn,
  repeatTransform,
  toMetres,
  toUvMap,
  turnNormals,
  UNTURNED,
} from '../../core/delivery/repeat-transform.ts';
import type { MaterialSpec } from './material-spec.ts';

/**
 * The tangent frame that viewers give a material on its part, relative to the surface with U to the right; null without one.
 * Maps are mirrored where the part's texture transform mirrors, so the directions of a finish are, and so is this frame.
 *
 * Tangents of the part stay as they are, however maps are transformed. Without them a viewer derives the frame from the UVs
 * of the normal map (glTF 2.0 §3.7.2.1) after its texture transform, so the frame turns with the map. three.js, Babylon.js
 * (`cotangent_frame` of the bump UVs) and the Khronos sample viewer all do so.
 */
export function findTangentFrame(spec: MaterialSpec): NormalTurn | null {
  const frame = findSurfaceFrame(spec);
  const [u, v] = [Math.sign(spec.lay?.metresPerU ?? 1), Math.sign(spec.lay?.metresPerV ?? 1)];
  return frame && (u < 0 || v < 0) ? { xx: u * frame.xx, xy: u * frame.xy, yx: v * frame.yx, yy: v * frame.yy } : frame;
}

function findSurfaceFrame(spec: MaterialSpec): NormalTurn | null {
  if (spec.hasTangents) return UNTURNED;
  if (spec.omittedMaps.has('normal')) return spec.partFrame ?? null;
  if (spec.combinedNormals) return UNTURNED;
  return findMapFrame(spec) ?? (spec.hasUvFrame ? UNTURNED : null);
}

/**
 * How the normals of the finish's map must be turned before it is written, since the part's tangents do not turn with the
 * map; null where they need no turn.
 */
export function findMapTurn(spec: MaterialSpec): NormalTurn | null {
  if (!spec.hasTangents || spec.omittedMaps.has('normal') || spec.combinedNormals) return null;
  const turn = findMapFrame(spec);
  return turn && (turn.xx !== 1 || turn.yy !== 1) ? turn : null;
}

/** The frame of the finish's normal map after its transform; null without a map. */
function findMapFrame({ finish: { tile, maps }, lay, grainDegrees }: MaterialSpec): NormalTurn | null {
  if (!lay || !tile || !maps.normal) return null;
  return turnNormals(toMetres(toUvMap(repeatTransform(tile, lay, grainDegrees)), lay));
}

const CIRCLE = 2 * Math.PI;

/**
 * A direction on the part, expressed in a tangent frame.
 * @param radians counter-clockwise on the surface, from U
 * @returns radians counter-clockwise from the frame's x axis, 0 ≤ angle < 2 π; a mirrored frame counts clockwise
 */
export function turnInto({ xx, xy, yx, yy }: NormalTurn, radians: number): number {
  const [x, y] = [Math.cos(radians), Math.sin(radians)];
  const angle = Math.atan2(xy * x + yy * y, xx * x + yx * y);
  // rounded first, so that an angle just below 0 becomes 0 and not a full turn
  return (Math.round(angle * 1e9) / 1e9 + CIRCLE) % CIRCLE;
}
