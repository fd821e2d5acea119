import type { UvBounds, UvFacts } from '../../core/product/survey.ts';
import type { ScenePart } from './place-scene.ts';
import { UvGrid } from './uv-grid.ts';

/** A circle drawn out more than this is no longer told apart. */
const STRETCH_LIMIT = 100;

/** How TEXCOORD_0 lies on the parts of one material, added up part by part. */
export class UvMeasure {
  /** m² in the scene, UV units², and those of triangles whose middle is outside the unit square. */
  #surface = 0;
  #uv = 0;
  #outside = 0;
  /** m² of triangles whose stretch could be told, and the stretch times that. */
  #told = 0;
  #stretch = 0;
  readonly #grid = new UvGrid();
  #any = false;
  #minU = Infinity;
  #minV = Infinity;
  #maxU = -Infinity;
  #maxV = -Infinity;

  /**
   * Adds a part as it stands in the scene.
   * @param uvs TEXCOORD_0 of its primitive
   * @param isFirst whether no other node's part of the same primitive was added: instances share their UVs, which is
   *   no overlap
   */
  add({ triangles, first, vertices: own }: ScenePart, points: Float32Array, uvs: Float32Array, isFirst: boolean): void {
    this.#any = true;
    const vertices = Math.min(own, uvs.length / 2);
    let [surfaces, areas, outside, told, stretch] = [0, 0, 0, 0, 0];
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
      const surface = Math.sqrt(nx * nx + ny * ny + nz * nz) / 2;
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
      const uv = Math.abs(u1 * v2 - u2 * v1) / 2;
      if (!(surface + uv < Infinity)) continue;
      surfaces += surface;
      areas += uv;
      if (isFirst) {
        this.#minU = Math.min(this.#minU, u0, ub, uc);
        this.#minV = Math.min(this.#minV, v0, vb, vc);
        this.#maxU = Math.max(this.#maxU, u0, ub, uc);
        this.#maxV = Math.max(this.#maxV, v0, vb, vc);
      }
      if (uv === 0) continue;
      if ((isOut(u0, v0) || isOut(ub, vb) || isOut(uc, vc)) && isOut((u0 + ub + uc) / 3, (v0 + vb + vc) / 3)) {
        outside += uv;
      }
      if (isFirst) this.#grid.add(u0, v0, ub, vb, uc, vc);
      if (surface === 0) continue;
      // how far one step in u, and one in v, goes on the surface
      const sx = ux * v2 - vx * v1;
      const sy = uy * v2 - vy * v1;
      const sz = uz * v2 - vz * v1;
      const tx = vx * u1 - ux * u2;
      const ty = vy * u1 - uy * u2;
      const tz = vz * u1 - uz * u2;
      const ss = sx * sx + sy * sy + sz * sz;
      const tt = tx * tx + ty * ty + tz * tz;
      const st = sx * tx + sy * ty + sz * tz;
      const root = Math.sqrt((ss - tt) * (ss - tt) + 4 * st * st);
      // the longer axis squared, over the product of both
      const ratio = (ss + tt + root) / (8 * surface * uv);
      told += surface;
      stretch += surface * Math.min(STRETCH_LIMIT, ratio);
    }
    this.#surface += surfaces;
    this.#uv += areas;
    this.#outside += outside;
    this.#told += told;
    this.#stretch += stretch;
  }

  /** Metres of surface per unit of UV; null where it cannot be told. */
  get metresPerUv(): number | null {
    return this.#uv > 1e-12 && this.#surface > 0 ? Math.sqrt(this.#surface / this.#uv) : null;
  }

  get #bounds(): UvBounds | null {
    if (!(this.#minU <= this.#maxU && this.#minV <= this.#maxV)) return null;
    return { min: [this.#minU, this.#minV], max: [this.#maxU, this.#maxV] };
  }

  /** @param mapPx longest side of the largest map; null without one */
  describe(mapPx: number | null): UvFacts | null {
    if (!this.#any) return null;
    const { metresPerUv } = this;
    return {
      ...this.#grid.measure(),
      outside: this.#uv > 0 ? this.#outside / this.#uv : 0,
      bounds: this.#bounds,
      stretch: this.#told > 0 ? this.#stretch / this.#told : 1,
      pxPerMm: mapPx !== null && metresPerUv !== null ? mapPx / (metresPerUv * 1000) : null,
    };
  }
}

/** UVs a thousandth outside come from rounding, and show nothing of the neighbouring repeat. */
const EDGE = 1e-3;
const isOut = (u: number, v: number) => u < -EDGE || u > 1 + EDGE || v < -EDGE || v > 1 + EDGE;
