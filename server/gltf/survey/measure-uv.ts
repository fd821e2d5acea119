import type { UvFacts } from '../../core/product/survey.ts';
import type { PrimitiveJson } from '../json.ts';
import { listTriangles } from '../list-triangles.ts';
import { type LoadedModel, readAccessor } from './read-accessor.ts';
import { GRID_SIDE, UvGrid } from './uv-grid.ts';
import type { Matrix } from './world-matrices.ts';

/** A circle drawn out more than this is no longer told apart. */
const STRETCH_LIMIT = 100;

/** How TEXCOORD_0 lies on the parts of one material, added up primitive by primitive. */
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

  /** Adds a primitive as a node shows it; one that cannot be read, or has no UVs, adds nothing. */
  add(model: LoadedModel, primitive: PrimitiveJson, matrix: Matrix): void {
    const { POSITION, TEXCOORD_0 } = primitive.attributes;
    if (POSITION === undefined || TEXCOORD_0 === undefined) return;
    const positions = readAccessor(model, POSITION);
    const uvs = readAccessor(model, TEXCOORD_0);
    const triangles = listTriangles(model, primitive);
    if (!positions || !uvs || !triangles) return;
    this.#any = true;
    const [m0, m1, m2, , m4, m5, m6, , m8, m9, m10] = Float64Array.from(matrix) as unknown as number[] & { length: 16 };
    const vertices = Math.min(positions.length / 3, uvs.length / 2);
    const p = positions;
    let [surfaces, areas, outside, told, stretch] = [0, 0, 0, 0, 0];
    for (let t = 0; t < triangles.length; t += 3) {
      const a = triangles[t]!;
      const b = triangles[t + 1]!;
      const c = triangles[t + 2]!;
      if (a >= vertices || b >= vertices || c >= vertices) continue;
      const x1 = p[b * 3]! - p[a * 3]!;
      const y1 = p[b * 3 + 1]! - p[a * 3 + 1]!;
      const z1 = p[b * 3 + 2]! - p[a * 3 + 2]!;
      const x2 = p[c * 3]! - p[a * 3]!;
      const y2 = p[c * 3 + 1]! - p[a * 3 + 1]!;
      const z2 = p[c * 3 + 2]! - p[a * 3 + 2]!;
      const ux = m0! * x1 + m4! * y1 + m8! * z1;
      const uy = m1! * x1 + m5! * y1 + m9! * z1;
      const uz = m2! * x1 + m6! * y1 + m10! * z1;
      const vx = m0! * x2 + m4! * y2 + m8! * z2;
      const vy = m1! * x2 + m5! * y2 + m9! * z2;
      const vz = m2! * x2 + m6! * y2 + m10! * z2;
      const nx = uy * vz - uz * vy;
      const ny = uz * vx - ux * vz;
      const nz = ux * vy - uy * vx;
      const surface = Math.sqrt(nx * nx + ny * ny + nz * nz) / 2;
      const u0 = uvs[a * 2]!;
      const v0 = uvs[a * 2 + 1]!;
      const u1 = uvs[b * 2]! - u0;
      const v1 = uvs[b * 2 + 1]! - v0;
      const u2 = uvs[c * 2]! - u0;
      const v2 = uvs[c * 2 + 1]! - v0;
      const cross = u1 * v2 - u2 * v1;
      const uv = Math.abs(cross) / 2;
      if (!Number.isFinite(surface + uv)) continue;
      surfaces += surface;
      areas += uv;
      if (uv === 0) continue;
      if (isOut(u0, v0) || isOut(u0 + u1, v0 + v1) || isOut(u0 + u2, v0 + v2)) {
        if (isOut(u0 + (u1 + u2) / 3, v0 + (v1 + v2) / 3)) outside += uv;
      }
      const left = Math.min(u1, u2, 0);
      const right = Math.max(u1, u2, 0);
      const top = Math.min(v1, v2, 0);
      const bottom = Math.max(v1, v2, 0);
      // small triangles between the middles of texels are most of a fine mesh, and need no more than this look
      const x = Math.ceil((u0 + left) * GRID_SIDE - 0.5);
      const y = Math.ceil((v0 + top) * GRID_SIDE - 0.5);
      if (x <= (u0 + right) * GRID_SIDE - 0.5 && y <= (v0 + bottom) * GRID_SIDE - 0.5) {
        this.#grid.add(u0, v0, u0 + u1, v0 + v1, u0 + u2, v0 + v2);
      }
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
      const ratio = Math.sqrt((ss + tt + root) / Math.max(ss + tt - root, Number.MIN_VALUE));
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

  /** @param mapPx longest side of the largest map; null without one */
  describe(mapPx: number | null): UvFacts | null {
    if (!this.#any) return null;
    const { metresPerUv } = this;
    return {
      ...this.#grid.measure(),
      outside: this.#uv > 0 ? this.#outside / this.#uv : 0,
      stretch: this.#told > 0 ? this.#stretch / this.#told : 1,
      pxPerMm: mapPx !== null && metresPerUv !== null ? mapPx / (metresPerUv * 1000) : null,
    };
  }
}

/** UVs a thousandth outside come from rounding, and show nothing of the neighbouring repeat. */
const EDGE = 1e-3;
const isOut = (u: number, v: number) => u < -EDGE || u > 1 + EDGE || v < -EDGE || v > 1 + EDGE;
