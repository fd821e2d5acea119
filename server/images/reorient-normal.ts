/** A direction in tangent space: x right, y up, z out of the surface. */
export type Vector = [x: number, y: number, z: number];

/** A base that looks so little out of the surface has no side on which a detail could lie. */
const EDGE_ON = 1e-6;

/**
 * Lays a detail normal over a base normal: reoriented normal mapping, by which the detail is turned with the shortest turn
 * that takes straight up to the base. A flat base leaves the detail as it is, a flat detail the base, and the length of the
 * detail stays what it was. Both are of unit length, the base's z above -1.
 * @param into where the result goes
 * @see Barré-Brisebois and Hill, “Blending in Detail”, 2012: r = t (t · u) / t.z − u
 */
export function reorientNormal(base: Readonly<Vector>, detail: Readonly<Vector>, into: Vector): Vector {
  const tx = base[0];
  const ty = base[1];
  const tz = base[2] + 1;
  if (tz < EDGE_ON) {
    into[0] = tx;
    into[1] = ty;
    into[2] = tz - 1;
    return into;
  }
  const ux = -detail[0];
  const uy = -detail[1];
  const uz = detail[2];
  const share = (tx * ux + ty * uy + tz * uz) / tz;
  into[0] = tx * share - ux;
  into[1] = ty * share - uy;
  into[2] = tz * share - uz;
  return into;
}

/**
 * Brings a normal as it is sampled to unit length, its strength changed first: x and y times `scale`
 * (glTF 2.0, normalTextureInfo). What has no direction becomes straight up.
 */
export function scaleNormal(normal: Vector, scale: number): Vector {
  const x = normal[0] * scale;
  const y = normal[1] * scale;
  const z = normal[2];
  // a tenth of the time that Math.hypot takes, and components are far from where squares would be lost
  const length = Math.sqrt(x * x + y * y + z * z);
  if (length > 0) {
    normal[0] = x / length;
    normal[1] = y / length;
    normal[2] = z / length;
  } else {
    normal[0] = 0;
    normal[1] = 0;
    normal[2] = 1;
  }
  return normal;
}
