import type { Tile } from '../finish/finish.ts';
import type { UvFrame } from '../product/survey.ts';

/** UVs in metres, the default placement of finishes. */
export const UVS_IN_METRES: UvFrame = { texCoord: 0, metresPerU: 1, metresPerV: 1, turnDegrees: 0 };

/**
 * Direction of a finish on a part, 0–360 degrees counter-clockwise from the V axis of the UVs. A tile that is not square can
 * only turn by quarters, so its direction is rounded to one.
 * @param grainDegrees direction on the part, counter-clockwise, added to the tile's own and the part's
 */
export function turnOf(tile: Tile | null, lay: Pick<UvFrame, 'turnDegrees'>, grainDegrees: number): number {
  const degrees = wrap((tile?.grainDegrees ?? 0) + grainDegrees + lay.turnDegrees);
  return tile && tile.widthMm !== tile.heightMm ? (Math.round(degrees / 90) * 90) % 360 : degrees;
}

/** Degrees, 0–45, by which the maps of a finish miss the wanted direction; 0 if they follow it. */
export function missedDegrees(tile: Tile | null, lay: Pick<UvFrame, 'turnDegrees'>, grainDegrees: number): number {
  const asked = wrap((tile?.grainDegrees ?? 0) + grainDegrees + lay.turnDegrees);
  const apart = Math.abs(asked - turnOf(tile, lay, grainDegrees));
  return Math.min(apart, 360 - apart);
}

/**
 * Places one repeat at its true size. UVs are converted to metres, U and V separately, then turned, then converted to
 * repeats. A texture transform scales before it turns (`KHR_texture_transform`, T · R · S). For a square repeat, both
 * scales can come before the turn. Otherwise this works only for quarter turns, with the sides exchanged; other angles
 * go to the nearest quarter.
 * @param grainDegrees direction on the part, counter-clockwise, added to the tile's own and the part's
 * @returns `rotation` only if it is not 0
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
  // The transform turns the coordinates, so the map itself appears turned in the opposite direction.
  return { scale: [across, along], ...(degrees !== 0 && { rotation: ((360 - degrees) * Math.PI) / 180 }) };
}

/** Wraps to 0 ≤ degrees < 360 and removes float noise. */
function wrap(degrees: number): number {
  return (((Math.round(degrees * 1e9) / 1e9) % 360) + 360) % 360;
}

/**
 * The placement of a map in a UV set: u′ = a·u + b·v + e and v′ = c·u + d·v + f, where u′, v′ are the map's own
 * coordinates. v runs down, as everywhere in glTF.
 */
export interface UvMap {
  readonly a: number;
  readonly b: number;
  readonly c: number;
  readonly d: number;
  readonly e: number;
  readonly f: number;
}

/** The properties of `KHR_texture_transform` that move coordinates; rotation in radians. */
export interface TextureTransform {
  readonly offset?: readonly [number, number];
  readonly rotation?: number;
  readonly scale?: readonly [number, number];
}

/**
 * The placement that a texture transform gives: it scales, then turns, then shifts (`KHR_texture_transform`, T · R ·
 * S). A positive rotation turns coordinates counter-clockwise as seen on the map, so its image appears turned
 * clockwise.
 */
export function toUvMap({ offset = [0, 0], rotation = 0, scale = [1, 1] }: TextureTransform = {}): UvMap {
  const [cos, sin] = [Math.cos(rotation), Math.sin(rotation)];
  return {
    a: scale[0] * cos,
    b: scale[1] * sin,
    c: -scale[0] * sin,
    d: scale[1] * cos,
    e: offset[0],
    f: offset[1],
  };
}

/**
 * Converts the placement to metres on the surface, along U and along V. Angles and tangent frames belong to the
 * surface. They differ from those of the UVs if U and V differ in size.
 */
export function toMetres({ a, b, c, d, e, f }: UvMap, { metresPerU, metresPerV }: UvScale): UvMap {
  const [u, v] = [Math.abs(metresPerU), Math.abs(metresPerV)];
  return { a: a / u, b: b / v, c: c / u, d: d / v, e, f };
}

/** Metres of surface per unit along U and along V, never 0; the sign does not matter here. */
interface UvScale {
  readonly metresPerU: number;
  readonly metresPerV: number;
}

/** Turns x and y of a normal: x′ = xx·x + xy·y and y′ = yx·x + yy·y. */
export interface NormalTurn {
  readonly xx: number;
  readonly xy: number;
  readonly yx: number;
  readonly yy: number;
}

export const UNTURNED: NormalTurn = { xx: 1, xy: 0, yx: 0, yy: 1 };

/**
 * Finds the turn from a map's normals to the tangent frame of its UVs. If a part has no tangents, viewers make them
 * from the map's own coordinates (glTF 2.0 §3.7.2.1). x points where u′ grows. y is at right angles, on the side where
 * v′ falls, because +Y of a normal map is up and v runs down. A mirrored map has a mirrored frame.
 * @returns null if the map collapses to a line or a point and has no frame
 */
export function turnNormals({ a, b, c, d }: UvMap): NormalTurn | null {
  const area = a * d - b * c;
  // The direction in which u′ grows and v′ stays constant, with v turned up.
  const [x, y] = [d * Math.sign(area), c * Math.sign(area)];
  const length = Math.hypot(x, y);
  if (!(Math.abs(area) > 0 && length > 0 && Number.isFinite(length))) return null;
  const [xx, yx] = [x / length, y / length];
  return area > 0 ? { xx, yx, xy: -yx, yy: xx } : { xx, yx, xy: yx, yy: -xx };
}

/** Whether a map with these coordinates repeats exactly after one UV unit. */
export function repeatsByUnit({ a, b, c, d }: UvMap): boolean {
  return [a, b, c, d].every((value) => Math.abs(value - Math.round(value)) < WHOLE);
}

/** Largest distance from a whole number of turns that counts as whole: a fifth of a texel in 2048. */
const WHOLE = 1e-4;
