import type { GrainMark } from '../../../core/product/survey.ts';
import { type UvPart, visitUvTriangles } from './visit-uv-triangles.ts';

/** A view as pictures have it: what is right and up in it, and where it is seen from. */
const VIEWS = [
  { view: 'front', right: [1, 0, 0], up: [0, 1, 0], from: [0, 0, 1] },
  { view: 'side', right: [0, 0, -1], up: [0, 1, 0], from: [1, 0, 0] },
  { view: 'back', right: [-1, 0, 0], up: [0, 1, 0], from: [0, 0, -1] },
  { view: 'top', right: [1, 0, 0], up: [0, 0, -1], from: [0, 1, 0] },
] as const satisfies readonly { view: GrainMark['view']; right: Vector; up: Vector; from: Vector }[];

type Vector = readonly [number, number, number];

/** Faces turned further away than 60° are seen too much from the side to show a direction by. */
const TURNED = 0.5;

/** How much of each piece is seen in each view, m² as they appear. */
export class ShownAreas {
  readonly #byPiece = new Map<number, number[]>();
  #last = -1;
  #own: number[] = [];

  add(piece: number, area: number, nx: number, ny: number, nz: number): void {
    if (piece !== this.#last) {
      this.#last = piece;
      this.#own = this.#byPiece.get(piece) ?? VIEWS.map(() => 0);
      this.#byPiece.set(piece, this.#own);
    }
    // as the views stand: from +Z, +X, −Z and +Y
    if (nz > TURNED) this.#own[0]! += area * nz;
    if (nx > TURNED) this.#own[1]! += area * nx;
    if (-nz > TURNED) this.#own[2]! -= area * nz;
    if (ny > TURNED) this.#own[3]! += area * ny;
  }

  /** The piece, of those that may be, that shows most of itself, and the number of the view; null where none shows anything. */
  findBest(mayBe: (piece: number) => boolean): { readonly piece: number; readonly view: number } | null {
    let best = 0;
    let found: { piece: number; view: number } | null = null;
    for (const [piece, areas] of this.#byPiece) {
      if (!mayBe(piece)) continue;
      areas.forEach((area, view) => {
        // as good as the same is settled by the order of views, which no rounding changes
        if (area <= best * (1 + 1e-6)) return;
        best = area;
        found = { piece, view };
      });
    }
    return found;
  }
}

/**
 * Where the direction on a material is best shown: the piece that shows most of itself in one of the views, and how steps
 * in U and V go there. Null where none of its pieces shows a face in any.
 * @param mayBe whether a piece is one to show it on
 */
export function placeGrainMark(
  parts: readonly UvPart[],
  points: Float32Array,
  shown: ShownAreas,
  mayBe: (piece: number) => boolean,
): GrainMark | null {
  const best = shown.findBest(mayBe);
  return best && describe(parts, points, best.piece, VIEWS[best.view]!);
}

function describe(
  parts: readonly UvPart[],
  points: Float32Array,
  piece: number,
  { view, right, up, from }: (typeof VIEWS)[number],
): GrainMark {
  const min: [number, number] = [Infinity, Infinity];
  const max: [number, number] = [-Infinity, -Infinity];
  const uu = [0, 0, 0];
  const uv = [0, 0, 0];
  const vv = [0, 0, 0];
  let whole = 0;
  visitUvTriangles(
    parts,
    points,
    ({ area, nx, ny, nz, e1, e2, u1, v1, u2, v2, corners }) => {
      const facing = nx * from[0] + ny * from[1] + nz * from[2];
      if (facing <= TURNED) return;
      for (const corner of corners) {
        const place = [points[corner]!, points[corner + 1]!, points[corner + 2]!] as const;
        const [x, y] = [dot(place, right), dot(place, up)];
        min[0] = Math.min(min[0], x);
        min[1] = Math.min(min[1], y);
        max[0] = Math.max(max[0], x);
        max[1] = Math.max(max[1], y);
      }
      // a step in u and one in v, on the surface, at the mean scale of the triangle
      const flat = u1 * v2 - u2 * v1;
      const scale = 1 / (flat * Math.sqrt((2 * area) / Math.abs(flat)));
      const step = (a: number, b: number, axis: Vector) => (a * dot(e1, axis) + b * dot(e2, axis)) * scale;
      const [ux, uy] = [step(v2, -v1, right), step(v2, -v1, up)];
      const [vx, vy] = [step(-u2, u1, right), step(-u2, u1, up)];
      const weight = area * facing;
      whole += weight;
      add(uu, weight, ux * ux, ux * uy, uy * uy);
      add(uv, weight, 2 * ux * vx, ux * vy + uy * vx, 2 * uy * vy);
      add(vv, weight, vx * vx, vx * vy, vy * vy);
    },
    piece,
  );
  const mean = (sums: readonly number[]) => sums.map((sum) => sum / whole) as unknown as GrainMark['uu'];
  return { view, min, max, uu: mean(uu), uv: mean(uv), vv: mean(vv) };
}

const dot = (a: ArrayLike<number>, b: Vector) => a[0]! * b[0] + a[1]! * b[1] + a[2]! * b[2];

function add(sums: number[], weight: number, xx: number, xy: number, yy: number): void {
  sums[0]! += weight * xx;
  sums[1]! += weight * xy;
  sums[2]! += weight * yy;
}
