import { type RepeatSizes, SIZE_OFF, type UvBounds, type UvFrame } from '../../../core/product/survey.ts';
import type { FinishUvs } from '../../document/choose-finish-uvs.ts';
import type { ScenePart } from '../../geometry/place-scene.ts';

/** The UV frame of one material, as measured on its parts. */
export interface MeasuredUvFrame {
  readonly frame: UvFrame;
  /** Metres for one unit of the part's map, see `SurveyedMaterial`; null if it cannot be measured. */
  readonly metresPerUv: number | null;
  readonly sizes: RepeatSizes | null;
  readonly bounds: UvBounds | null;
}

/** U and V that differ by less have the same size: single precision and 16-bit coordinates leave this error. */
const EVEN = 1e-4;
/** Percentiles of area between which sizes are reported; slivers and seams are beyond. */
const LOW = 0.05;
const HIGH = 0.95;

/**
 * Measures how large UVs are on the surface, along U and along V apart, from the Jacobian of each triangle: the change of
 * position in the scene for a unit of U and of V. Sizes are medians by area, so most of a part has its true size, and a few
 * collapsed or spread triangles have no effect.
 *
 * On a skewed triangle, steps in U and in V are longer than its extent. Their ratio is kept, and their product is set to the
 * area, so that no size counts twice.
 */
export class UvFrameMeasure {
  readonly #alongU = new AreaQuantiles();
  readonly #alongV = new AreaQuantiles();
  readonly #both = new AreaQuantiles();
  #minU = Infinity;
  #minV = Infinity;
  #maxU = -Infinity;
  #maxV = -Infinity;

  /** Makes the measure ready for another material. */
  clear(): void {
    for (const quantiles of [this.#alongU, this.#alongV, this.#both]) quantiles.clear();
    this.#minU = this.#minV = Infinity;
    this.#maxU = this.#maxV = -Infinity;
  }

  /** Adds a part as placed in the scene, with the UVs of the file. */
  add({ triangles, first, vertices: own }: ScenePart, points: Float32Array, uvs: Float32Array): void {
    const vertices = Math.min(own, uvs.length / 2);
    for (let t = 0; t < triangles.length; t += 3) {
      const a = triangles[t]!;
      const b = triangles[t + 1]!;
      const c = triangles[t + 2]!;
      if (a >= vertices || b >= vertices || c >= vertices) continue;
      const pa = (first + a) * 3;
      const pb = (first + b) * 3;
      const pc = (first + c) * 3;
      const ux = points[pb]! - points[pa]!;
      const uy = points[pb + 1]! - points[pa + 1]!;
      const uz = points[pb + 2]! - points[pa + 2]!;
      const vx = points[pc]! - points[pa]!;
      const vy = points[pc + 1]! - points[pa + 1]!;
      const vz = points[pc + 2]! - points[pa + 2]!;
      const nx = uy * vz - uz * vy;
      const ny = uz * vx - ux * vz;
      const nz = ux * vy - uy * vx;
      // twice the area, on the surface and in UV
      const surface = Math.sqrt(nx * nx + ny * ny + nz * nz);
      const u0 = uvs[a * 2]!;
      const v0 = uvs[a * 2 + 1]!;
      const ub = uvs[b * 2]!;
      const vb = uvs[b * 2 + 1]!;
      const uc = uvs[c * 2]!;
      const vc = uvs[c * 2 + 1]!;
      const u1 = ub - u0;
      const v1 = vb - v0;
      const u2 = uc - u0;
      const v2 = vc - v0;
      const uv = Math.abs(u1 * v2 - u2 * v1);
      if (!(surface + uv < Infinity)) continue;
      this.#minU = Math.min(this.#minU, u0, ub, uc);
      this.#minV = Math.min(this.#minV, v0, vb, vc);
      this.#maxU = Math.max(this.#maxU, u0, ub, uc);
      this.#maxV = Math.max(this.#maxV, v0, vb, vc);
      if (uv === 0 || surface === 0) continue;
      // a step in U and one in V on the surface, times `uv`
      const sx = ux * v2 - vx * v1;
      const sy = uy * v2 - vy * v1;
      const sz = uz * v2 - vz * v1;
      const tx = vx * u1 - ux * u2;
      const ty = vy * u1 - uy * u2;
      const tz = vz * u1 - uz * u2;
      const mean = Math.log(surface / uv) / 2;
      const apart = Math.log((sx * sx + sy * sy + sz * sz) / (tx * tx + ty * ty + tz * tz)) / 4;
      if (!(Math.abs(mean) + Math.abs(apart) < Infinity)) continue;
      this.#alongU.add(mean + apart, surface);
      this.#alongV.add(mean - apart, surface);
      this.#both.add(mean, surface);
    }
  }

  /** @param map placement of the part's own map, which determines direction, mirroring and unit */
  describe(map: FinishUvs): MeasuredUvFrame {
    const bounds = this.#minU <= this.#maxU && this.#minV <= this.#maxV ? this.#bounds : null;
    if (this.#both.isEmpty) return { ...unmeasuredFrame(map), bounds };
    const { scale = [1, 1] } = map.transform;
    let [u, v] = [this.#alongU.find(0.5), this.#alongV.find(0.5)];
    const mean = Math.sqrt(u * v);
    if (Math.abs(Math.log(u / v)) < EVEN) u = v = mean;
    return {
      frame: toFrame(map, u, v),
      metresPerUv: mean / Math.sqrt(Math.abs(orOne(scale[0]) * orOne(scale[1]))),
      sizes: {
        low: this.#both.find(LOW) / mean,
        high: this.#both.find(HIGH) / mean,
        off: this.#both.shareBeyond(mean, SIZE_OFF),
      },
      bounds,
    };
  }

  get #bounds(): UvBounds {
    return { min: [this.#minU, this.#minV], max: [this.#maxU, this.#maxV] };
  }
}

/** The frame of a part that cannot be measured: one unit of its own map counts as a metre, as guidelines recommend. */
export function unmeasuredFrame(map: FinishUvs): MeasuredUvFrame {
  const { scale = [1, 1] } = map.transform;
  const frame = toFrame(map, Math.abs(orOne(scale[0])), Math.abs(orOne(scale[1])));
  return { frame, metresPerUv: null, sizes: null, bounds: null };
}

function toFrame(
  { texCoord, transform: { scale = [1, 1], rotation = 0 }, isColourMap }: FinishUvs,
  u: number,
  v: number,
): UvFrame {
  if (!isColourMap) return { texCoord, metresPerU: u, metresPerV: v, turnDegrees: 0 };
  return {
    texCoord,
    metresPerU: scale[0] < 0 ? -u : u,
    metresPerV: scale[1] < 0 ? -v : v,
    // the transform turns the coordinates, so the map appears turned the other way
    turnDegrees: (360 - (((rotation * 180) / Math.PI) % 360)) % 360,
  };
}

/** A scale of 0 flattens the map and gives no size. */
const orOne = (scale: number) => (scale === 0 ? 1 : scale);

/** Natural logarithms of the smallest and the largest value that are distinguished: 10⁻⁷ to 10⁷. */
const LEAST = Math.log(1e-7);
const GREATEST = Math.log(1e7);
/** Width of a class: half a per cent. Each class has the mean of its values, so equal values are returned exactly. */
const WIDTH = 0.005;
const CLASSES = Math.ceil((GREATEST - LEAST) / WIDTH);
/** Shares that differ by less are the same. */
const EVEN_SHARE = 1e-9;

/** Quantiles by area of a positive quantity over the triangles of a material, without keeping the triangles. */
export class AreaQuantiles {
  readonly #weights = new Float64Array(CLASSES);
  readonly #sums = new Float64Array(CLASSES);
  #whole = 0;

  clear(): void {
    if (this.isEmpty) return;
    this.#weights.fill(0);
    this.#sums.fill(0);
    this.#whole = 0;
  }

  /** @param log natural logarithm of the quantity */
  add(log: number, area: number): void {
    const index = Math.min(CLASSES - 1, Math.max(0, Math.floor((log - LEAST) / WIDTH)));
    this.#weights[index]! += area;
    this.#sums[index]! += area * log;
    this.#whole += area;
  }

  get isEmpty(): boolean {
    return this.#whole === 0;
  }

  /**
   * The value below which a share of the area lies, 0–1. Between two values, it is their geometric mean.
   */
  find(share: number): number {
    const wanted = share * this.#whole;
    const even = EVEN_SHARE * this.#whole;
    let below = 0;
    let last: number | null = null;
    for (let index = 0; index < CLASSES; index++) {
      const weight = this.#weights[index]!;
      if (weight === 0) continue;
      const log = this.#sums[index]! / weight;
      if (last !== null) return Math.exp((last + log) / 2);
      below += weight;
      if (below > wanted + even) return Math.exp(log);
      if (below >= wanted - even) last = log;
    }
    return last === null ? Number.NaN : Math.exp(last);
  }

  /** Share of the area whose value differs from `value` by more than `factor`, in either direction. */
  shareBeyond(value: number, factor: number): number {
    const [middle, reach] = [Math.log(value), Math.log(factor)];
    let beyond = 0;
    for (let index = 0; index < CLASSES; index++) {
      const weight = this.#weights[index]!;
      if (weight > 0 && Math.abs(this.#sums[index]! / weight - middle) > reach) beyond += weight;
    }
    return this.#whole > 0 ? beyond / this.#whole : 0;
  }
}
