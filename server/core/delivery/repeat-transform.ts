import type { Tile } from '../finish/finish.ts';
import type { UvFrame } from '../product/survey.ts';

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

/**
 * How a map lies in a set of UVs: u′ = a·u + b·v + e and v′ = c·u + d·v + f, where u′, v′ are the map's own coordinates.
 * v runs down, as everywhere in glTF.
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
 * The map a texture transform comes to: it scales, then turns, then shifts (`KHR_texture_transform`, T · R · S). A positive
 * rotation turns coordinates counter-clockwise as one looks at the map, so that its image is seen turned clockwise.
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
 * The map in terms of metres on the surface, along U and along V: angles and tangent frames are of the surface, and where U
 * and V are of different size those of the UVs are not.
 */
export function toMetres({ a, b, c, d, e, f }: UvMap, { metresPerU, metresPerV }: UvScale): UvMap {
  const [u, v] = [Math.abs(metresPerU), Math.abs(metresPerV)];
  return { a: a / u, b: b / v, c: c / u, d: d / v, e, f };
}

/** Metres of surface for one unit along U and along V, never 0; a sign says nothing here. */
export interface UvScale {
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
 * What takes a normal of a map into the tangent frame of the UVs it lies in. Where a part has no tangents, viewers make
 * them from the map's own coordinates (glTF 2.0 §3.7.2.1): x goes where u′ grows, y at right angles, on the side where v′
 * falls, since +Y of a normal map is up and v runs down. A map laid mirrored has its frame mirrored with it.
 * @returns null where the map is laid flat on a line or a point, and there is no frame
 */
export function turnNormals({ a, b, c, d }: UvMap): NormalTurn | null {
  const area = a * d - b * c;
  // where u′ grows and v′ stays, with v turned up
  const [x, y] = [d * Math.sign(area), c * Math.sign(area)];
  const length = Math.hypot(x, y);
  if (!(Math.abs(area) > 0 && length > 0 && Number.isFinite(length))) return null;
  const [xx, yx] = [x / length, y / length];
  return area > 0 ? { xx, yx, xy: -yx, yy: xx } : { xx, yx, xy: yx, yy: -xx };
}

/** Whether a map of those coordinates, and one that repeats, say the same again one UV unit further on. */
export function repeatsByUnit({ a, b, c, d }: UvMap): boolean {
  return [a, b, c, d].every((value) => Math.abs(value - Math.round(value)) < WHOLE);
}

/** Turns a unit may lack of a whole number, or have too many: a fifth of a texel in 2048. */
const WHOLE = 1e-4;
