import type { UvFacts } from '../../../core/product/survey.ts';
import type { ScenePart } from '../../geometry/place-scene.ts';
import type { MeasuredUvFrame } from './measure-uv-frame.ts';
import type { PartUvs } from './place-finish-uvs.ts';

/** Greatest stretch that is reported. */
const STRETCH_LIMIT = 100;

/** Measures the UV layout of one material, part by part: coverage on the part's map, and stretch on a finish map. */
export class UvLayoutMeasure {
  /** Area on the part's map in units², and the area of triangles whose centre is outside the unit square. */
  #uv = 0;
  #outside = 0;
  /** Area in m² of triangles with a measurable stretch, and the sum of stretch times area. */
  #measured = 0;
  #stretch = 0;
  readonly #grid = new UvGrid();

  /**
   * Adds a part as placed in the scene.
   * @param isFirst whether this is the first part of its primitive: parts of one primitive share their UVs, which is not an
   *   overlap
   */
  add(
    { triangles, first, vertices: own }: ScenePart,
    points: Float32Array,
    { onMap: uvs, onFinish }: PartUvs,
    isFirst: boolean,
  ): void {
    const vertices = Math.min(own, uvs.length / 2);
    let [areas, outside, measured, stretch] = [0, 0, 0, 0];
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
      // the length on the surface of a step in U, and of one in V
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
      measured += surface;
      stretch += surface * Math.min(STRETCH_LIMIT, ratio);
    }
    this.#uv += areas;
    this.#outside += outside;
    this.#measured += measured;
    this.#stretch += stretch;
  }

  /** @param mapPx longest side of the largest map; null without one */
  describe({ metresPerUv, bounds, sizes }: MeasuredUvFrame, mapPx: number | null): UvFacts {
    return {
      ...this.#grid.measure(),
      outside: this.#uv > 0 ? this.#outside / this.#uv : 0,
      bounds,
      stretch: this.#measured > 0 ? this.#stretch / this.#measured : 1,
      sizes,
      pxPerMm: mapPx !== null && metresPerUv !== null ? mapPx / (metresPerUv * 1000) : null,
    };
  }
}

/** UVs up to a thousandth outside come from rounding. */
const EDGE = 1e-3;
const isOut = (u: number, v: number) => u < -EDGE || u > 1 + EDGE || v < -EDGE || v > 1 + EDGE;

/** Texels along a side. Coverage is accurate to a few tenths of a percent. */
const GRID_SIDE = 256;
/**
 * Most texels written for one material; later triangles do not count. Ten thousand repeats of the whole square would take
 * minutes and give no new information.
 */
const WRITE_LIMIT = 200_000_000;
/** Shifts rows off the round numbers that UVs often have, by far less than a texel. */
const NUDGE = 1e-7;

/** The unit square of UVs as texels, each with the number of triangles that cover its centre. */
class UvGrid {
  readonly #covered = new Uint8Array(GRID_SIDE * GRID_SIDE);
  #written = 0;

  /**
   * Adds the part of a triangle in the unit square, row by row, between the points where edges cross the centre of the row. An
   * edge is always followed from its lower end, so the two triangles beside it round equally, and each texel belongs to one.
   */
  add(ax: number, ay: number, bx: number, by: number, cx: number, cy: number): void {
    // in texels, with whole numbers at their centres
    let x0 = ax * GRID_SIDE - 0.5;
    let y0 = ay * GRID_SIDE - 0.5 + NUDGE;
    let x1 = bx * GRID_SIDE - 0.5;
    let y1 = by * GRID_SIDE - 0.5 + NUDGE;
    let x2 = cx * GRID_SIDE - 0.5;
    let y2 = cy * GRID_SIDE - 0.5 + NUDGE;
    let swap: number;
    if (y1 < y0) {
      swap = x0;
      x0 = x1;
      x1 = swap;
      swap = y0;
      y0 = y1;
      y1 = swap;
    }
    if (y2 < y1) {
      swap = x1;
      x1 = x2;
      x2 = swap;
      swap = y1;
      y1 = y2;
      y2 = swap;
      if (y1 < y0) {
        swap = x0;
        x0 = x1;
        x1 = swap;
        swap = y0;
        y0 = y1;
        y1 = swap;
      }
    }
    const top = Math.max(0, Math.ceil(y0));
    const bottom = Math.min(GRID_SIDE - 1, Math.ceil(y2) - 1);
    if (top > bottom) return;
    const long = (x2 - x0) / (y2 - y0);
    const upper = (x1 - x0) / (y1 - y0);
    const lower = (x2 - x1) / (y2 - y1);
    const covered = this.#covered;
    for (let y = top; y <= bottom; y++) {
      const p = x0 + (y - y0) * long;
      const q = y < y1 ? x0 + (y - y0) * upper : x1 + (y - y1) * lower;
      const from = Math.max(0, Math.ceil(Math.min(p, q)));
      const to = Math.min(GRID_SIDE, Math.ceil(Math.max(p, q)));
      if (from >= to) continue;
      this.#written += to - from;
      if (this.#written > WRITE_LIMIT) return;
      for (let at = y * GRID_SIDE + from, end = y * GRID_SIDE + to; at < end; at++) {
        if (covered[at]! < 2) covered[at]!++;
      }
    }
  }

  /** Share of the square that is covered, and share of that which is covered more than once. */
  measure(): { readonly coverage: number; readonly overlap: number } {
    let once = 0;
    let more = 0;
    const covered = this.#covered;
    for (let at = 0; at < covered.length; at++) {
      if (covered[at]! > 0) once++;
      if (covered[at]! > 1) more++;
    }
    return { coverage: once / covered.length, overlap: once > 0 ? more / once : 0 };
  }
}
