import type { UvFacts } from '../../../core/product/survey.ts';
import type { ScenePart } from '../../geometry/place-scene.ts';
import type { MeasuredUvFrame } from './measure-uv-frame.ts';
import type { PartUvs } from './place-finish-uvs.ts';
import { UvGrid } from './uv-grid.ts';

/** Greatest stretch that is reported. */
const STRETCH_LIMIT = 100;

/** The UV layout of one material, added up part by part: coverage on the part's map, and stretch on a finish map. */
export class UvLayoutMeasure {
  /** Units² of the part's map, and those of triangles whose middle is outside the unit square. */
  #uv = 0;
  #outside = 0;
  /** m² of triangles whose stretch could be told, and the stretch times that. */
  #told = 0;
  #stretch = 0;
  readonly #grid = new UvGrid();

  /**
   * Adds a part as it stands in the scene.
   * @param isFirst whether no other node's part of the same primitive was added: instances share their UVs, which is
   *   no overlap
   */
  add(
    { triangles, first, vertices: own }: ScenePart,
    points: Float32Array,
    { onMap: uvs, onFinish }: PartUvs,
    isFirst: boolean,
  ): void {
    const vertices = Math.min(own, uvs.length / 2);
    let [areas, outside, told, stretch] = [0, 0, 0, 0];
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
      const onMap = Math.abs((ub - u0) * (vc - v0) - (uc - u0) * (vb - v0)) / 2;
      if (!(surface + onMap < Infinity)) continue;
      areas += onMap;
      if (onMap === 0) continue;
      if ((isOut(u0, v0) || isOut(ub, vb) || isOut(uc, vc)) && isOut((u0 + ub + uc) / 3, (v0 + vb + vc) / 3)) {
        outside += onMap;
      }
      if (isFirst) this.#grid.add(u0, v0, ub, vb, uc, vc);
      if (surface === 0) continue;
      const u1 = onFinish[b * 2]! - onFinish[a * 2]!;
      const v1 = onFinish[b * 2 + 1]! - onFinish[a * 2 + 1]!;
      const u2 = onFinish[c * 2]! - onFinish[a * 2]!;
      const v2 = onFinish[c * 2 + 1]! - onFinish[a * 2 + 1]!;
      const uv = Math.abs(u1 * v2 - u2 * v1) / 2;
      if (!(uv > 0 && uv < Infinity)) continue;
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
    this.#uv += areas;
    this.#outside += outside;
    this.#told += told;
    this.#stretch += stretch;
  }

  /** @param mapPx longest side of the largest map; null without one */
  describe({ metresPerUv, bounds, sizes }: MeasuredUvFrame, mapPx: number | null): UvFacts {
    return {
      ...this.#grid.measure(),
      outside: this.#uv > 0 ? this.#outside / this.#uv : 0,
      bounds,
      stretch: this.#told > 0 ? this.#stretch / this.#told : 1,
      sizes,
      pxPerMm: mapPx !== null && metresPerUv !== null ? mapPx / (metresPerUv * 1000) : null,
    };
  }
}

/** UVs a thousandth outside come from rounding, and show nothing of the neighbouring repeat. */
const EDGE = 1e-3;
const isOut = (u: number, v: number) => u < -EDGE || u > 1 + EDGE || v < -EDGE || v > 1 + EDGE;
