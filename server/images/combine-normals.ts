import type { NormalTurn, UvMap } from '../core/delivery/repeat-transform.ts';
import { encodePng, type Pixels, readPixels } from './image-codec.ts';

/** How a sampler continues an image beyond its edge (glTF 2.0, `wrapS` and `wrapT`). */
export type Wrap = 'repeat' | 'mirror' | 'clamp';

/** A normal map, and its placement in the UVs that the new map covers. */
export interface NormalLayer {
  /** PNG, JPEG or WebP. */
  readonly image: Uint8Array;
  readonly lay: UvMap;
  /** Turns its normals into the tangent frame of the UVs. */
  readonly turn: NormalTurn;
  /** Strength as in `normalTexture.scale`; 1 is neutral. */
  readonly scale: number;
  readonly wrap: readonly [s: Wrap, t: Wrap];
}

/** A map to be combined from two; it covers 0–1 of the UVs. */
export interface NormalBake {
  readonly base: NormalLayer;
  readonly detail: NormalLayer;
  readonly widthPx: number;
  readonly heightPx: number;
}

/** The combined map, or which of the two cannot be decoded. */
export type BakedNormals = { readonly png: Uint8Array } | { readonly unreadable: 'base' | 'detail' };

/**
 * Combines the normals of a base map and a detail map. It takes about half a microsecond per texel, so a service runs it in a
 * worker. Each map is sampled as in viewers, between the four nearest texels, then scaled and normalised. The same input gives
 * the same bytes.
 */
export async function combineNormals({ base, detail, widthPx, heightPx }: NormalBake): Promise<BakedNormals> {
  const basePixels = await readPixels(base.image).catch(() => null);
  if (!basePixels) return { unreadable: 'base' };
  const detailPixels = await readPixels(detail.image).catch(() => null);
  if (!detailPixels) return { unreadable: 'detail' };
  const sampleBase = makeSampler(basePixels, base);
  const sampleDetail = makeSampler(detailPixels, detail);
  const data = Buffer.alloc(widthPx * heightPx * 3);
  const under: Vector = [0, 0, 1];
  const over: Vector = [0, 0, 1];
  const both: Vector = [0, 0, 1];
  let at = 0;
  for (let y = 0; y < heightPx; y++) {
    const v = (y + 0.5) / heightPx;
    for (let x = 0; x < widthPx; x++) {
      const u = (x + 0.5) / widthPx;
      sampleBase(u, v, under);
      sampleDetail(u, v, over);
      reorientNormal(under, over, both);
      // normals of a map must not point into the surface
      if (both[2] < 0) {
        both[2] = 0;
        scaleNormal(both, 1);
      }
      data[at++] = encode(both[0]);
      data[at++] = encode(both[1]);
      data[at++] = encode(both[2]);
    }
  }
  return { png: await encodePng({ data, widthPx, heightPx, channels: 3 }) };
}

/**
 * Components by code, -1 to 1 (glTF 2.0 §3.9.3). Eight bits have no code for 0, so tools write 127 or 128. Both are read as 0,
 * so that flat areas stay flat.
 */
const COMPONENTS = Float64Array.from({ length: 256 }, (_, code) =>
  code === 127 || code === 128 ? 0 : (code - 127.5) / 127.5,
);

/** The code of a component; 0 becomes 128, as in most tools. */
const encode = (component: number) => Math.min(255, Math.floor((component + 1) * 127.5 + 0.5));

/** Returns a function that samples a map at coordinates of the part, and writes the unit normal into a vector. */
function makeSampler(
  { data, widthPx, heightPx, channels }: Pixels,
  { lay, turn, scale, wrap }: Pick<NormalLayer, 'lay' | 'turn' | 'scale' | 'wrap'>,
): (u: number, v: number, into: Vector) => void {
  const column = WRAPS[wrap[0]];
  const row = WRAPS[wrap[1]];
  return (u, v, into) => {
    const x = (lay.a * u + lay.b * v + lay.e) * widthPx - 0.5;
    const y = (lay.c * u + lay.d * v + lay.f) * heightPx - 0.5;
    const left = Math.floor(x);
    const top = Math.floor(y);
    const right = x - left;
    const down = y - top;
    const x0 = column(left, widthPx) * channels;
    const x1 = column(left + 1, widthPx) * channels;
    const y0 = row(top, heightPx) * widthPx * channels;
    const y1 = row(top + 1, heightPx) * widthPx * channels;
    for (let c = 0; c < 3; c++) {
      const upper = COMPONENTS[data[y0 + x0 + c]!]! * (1 - right) + COMPONENTS[data[y0 + x1 + c]!]! * right;
      const lower = COMPONENTS[data[y1 + x0 + c]!]! * (1 - right) + COMPONENTS[data[y1 + x1 + c]!]! * right;
      into[c] = upper * (1 - down) + lower * down;
    }
    scaleNormal(into, scale);
    const nx = into[0];
    const ny = into[1];
    into[0] = turn.xx * nx + turn.xy * ny;
    into[1] = turn.yx * nx + turn.yy * ny;
  };
}

const around = (i: number, n: number) => ((i % n) + n) % n;

const WRAPS: Readonly<Record<Wrap, (i: number, n: number) => number>> = {
  repeat: around,
  mirror: (i, n) => {
    const there = around(i, 2 * n);
    return there < n ? there : 2 * n - 1 - there;
  },
  clamp: (i, n) => Math.min(n - 1, Math.max(0, i)),
};

/** A direction in tangent space: x right, y up, z out of the surface. */
export type Vector = [x: number, y: number, z: number];

/** A base normal that points into the surface this far cannot have a detail. */
const EDGE_ON = 1e-6;

/**
 * Applies a detail normal to a base normal by reoriented normal mapping: the detail is rotated by the shortest rotation from +Z
 * to the base. A flat base gives the detail, and a flat detail the base. The length of the detail stays. Both have unit
 * length, and the base's z is above -1.
 * @param into receives the result
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
 * Multiplies x and y of a sampled normal by `scale` (glTF 2.0, normalTextureInfo), and normalises it. A zero vector becomes +Z.
 */
export function scaleNormal(normal: Vector, scale: number): Vector {
  const x = normal[0] * scale;
  const y = normal[1] * scale;
  const z = normal[2];
  // ten times as fast as Math.hypot; components are far from overflow
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
