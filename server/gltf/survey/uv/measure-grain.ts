import type { GrainFacts, GrainMark, GrainTurn } from '../../../core/product/survey.ts';
import type { PieceParts } from '../../geometry/pieces/find-pieces.ts';
import type { PlacedScene } from '../../geometry/place-scene.ts';
import type { PieceMeasures } from '../geometry/measure-pieces.ts';
import { type UvPart, type UvTriangle, visitUvTriangles } from './visit-uv-triangles.ts';

/** A piece with less elongation has no main direction, such as a seat of 400 × 440 mm. Judgement. */
const ELONGATED = 1.2;
/** Pieces with a main direction decide if they cover at least this share of the surface. Judgement. */
const LEADS = 0.2;
/** Surfaces within 45° of level are horizontal, the others vertical. */
const LEVEL = Math.SQRT1_2;

/**
 * Measures the direction of finishes on the parts of each material. At 0°, the grain of a finish runs along V of the UVs. The
 * turn to another direction is calculated for each triangle from the gradients of its UVs, and averaged by area over the
 * doubled angle, since directions 180° apart are the same (Mardia & Jupp, Directional Statistics, §9.1; from memory).
 * @param mirrored nodes whose transform mirrors
 */
export function measureGrain(
  { parts: placed, points }: PlacedScene,
  parts: readonly PieceParts[],
  uvs: readonly (Float32Array | null)[],
  measures: PieceMeasures,
  mirrored: ReadonlySet<number>,
): Map<number | null, GrainFacts> {
  const byMaterial = new Map<number | null, UvPart[]>();
  placed.forEach(({ material, triangles, first, node }, index) => {
    const own = uvs[index];
    if (!own) return;
    const { pieceOfTriangle } = parts[index]!;
    const part: UvPart = { triangles, first, uvs: own, pieceOfTriangle, facing: mirrored.has(node) ? -1 : 1 };
    const group = byMaterial.get(material);
    if (group) group.push(part);
    else byMaterial.set(material, [part]);
  });
  const facts = new Map<number | null, GrainFacts>();
  for (const [material, own] of byMaterial) {
    const found = measureMaterial(own, points, measures);
    if (found) facts.set(material, found);
  }
  return facts;
}

/** Sums for one target direction: of the doubled angle, and of the area. */
class Votes {
  cos = 0;
  sin = 0;
  area = 0;
  /** Sum of each triangle's area times the length of the direction projected into its plane. */
  #weight = 0;

  add(du: number, dv: number, area: number, weight: number): void {
    const length = du * du + dv * dv;
    if (!(length > 0 && length < Infinity)) return;
    this.cos += (weight * (dv * dv - du * du)) / length;
    this.sin += (weight * 2 * du * dv) / length;
    this.area += area;
    this.#weight += weight;
  }

  describe(whole: number): GrainTurn | null {
    if (this.#weight === 0) return null;
    const degrees = (Math.atan2(this.sin, this.cos) * 90) / Math.PI;
    return {
      degrees: (degrees + 180) % 180,
      agreement: Math.min(1, Math.hypot(this.cos, this.sin) / this.#weight),
      share: Math.min(1, this.area / whole),
    };
  }
}

function measureMaterial(parts: readonly UvPart[], points: Float32Array, measures: PieceMeasures): GrainFacts | null {
  const along = new Votes();
  const hanging = new Votes();
  const shown = new ShownAreas();
  const axes = new Map<number, ReturnType<PieceMeasures['findAxis']>>();
  let [whole, lying, elongation] = [0, 0, 0];
  let last = -1;
  let axis: ReturnType<PieceMeasures['findAxis']> | null = null;
  visitUvTriangles(parts, points, (triangle) => {
    const { piece, area, nx, ny, nz } = triangle;
    if (piece !== last) {
      last = piece;
      axis = axes.get(piece) ?? measures.findAxis(piece);
      axes.set(piece, axis);
    }
    whole += area;
    shown.add(piece, area, nx, ny, nz);
    if (Math.abs(ny) > LEVEL) lying += area;
    // a main direction perpendicular to a face gives it no direction
    if (axis!.elongation >= ELONGATED) {
      const [x, y, z] = axis!.axis;
      const across = nx * x + ny * y + nz * z;
      const held = 1 - across * across;
      elongation += area * Math.log(axis!.elongation);
      if (held > 1e-6) vote(along, triangle, x, y, z, Math.sqrt(held));
    }
    // cloth runs from front to back on horizontal surfaces, and down on vertical ones
    const isSide = Math.abs(nx) > Math.abs(ny) && Math.abs(nx) > Math.abs(nz);
    if (isSide) vote(hanging, triangle, 0, 1, 0, Math.sqrt(1 - ny * ny));
    else vote(hanging, triangle, 0, nz, -ny, Math.sqrt(ny * ny + nz * nz));
  });
  if (whole === 0) return null;
  const turn = along.describe(whole);
  const isLong = (piece: number) => axes.get(piece)!.elongation >= ELONGATED;
  const elongated = turn ? Math.exp(elongation / (turn.share * whole)) : 1;
  return {
    along: turn,
    elongation: elongated,
    hanging: hanging.describe(whole),
    lying: lying / whole,
    // if pieces with a main direction decide, the mark is on one of them
    mark: placeGrainMark(parts, points, shown, turn && turn.share >= LEADS ? isLong : () => true),
  };
}

/**
 * Adds the turn by which the grain on one triangle follows a direction. The gradients of U and V give the step in UV of the
 * direction projected onto the triangle. The turn is the angle between V and that step.
 */
function vote(votes: Votes, t: UvTriangle, x: number, y: number, z: number, held: number): void {
  const { e1, e2, nx, ny, nz } = t;
  // e2 × n and n × e1 are the gradients along e1 and e2, apart from their length
  const c1 = (e2[1] * nz - e2[2] * ny) * x + (e2[2] * nx - e2[0] * nz) * y + (e2[0] * ny - e2[1] * nx) * z;
  const c2 = (ny * e1[2] - nz * e1[1]) * x + (nz * e1[0] - nx * e1[2]) * y + (nx * e1[1] - ny * e1[0]) * z;
  votes.add(t.u1 * c1 + t.u2 * c2, t.v1 * c1 + t.v2 * c2, t.area, t.area * held);
}

/** The views of pictures: the axes to the right and up, and the direction of the viewer. */
const VIEWS = [
  { view: 'front', right: [1, 0, 0], up: [0, 1, 0], from: [0, 0, 1] },
  { view: 'side', right: [0, 0, -1], up: [0, 1, 0], from: [1, 0, 0] },
  { view: 'back', right: [-1, 0, 0], up: [0, 1, 0], from: [0, 0, -1] },
  { view: 'top', right: [1, 0, 0], up: [0, 0, -1], from: [0, 1, 0] },
] as const satisfies readonly { view: GrainMark['view']; right: Vector; up: Vector; from: Vector }[];

type Vector = readonly [number, number, number];

/** Cosine of 60°. Faces at a flatter angle cannot show a direction. */
const TURNED = 0.5;

/** The visible area of each piece in each view, in m² as projected. */
class ShownAreas {
  readonly #byPiece = new Map<number, number[]>();
  #last = -1;
  #own: number[] = [];

  add(piece: number, area: number, nx: number, ny: number, nz: number): void {
    if (piece !== this.#last) {
      this.#last = piece;
      this.#own = this.#byPiece.get(piece) ?? VIEWS.map(() => 0);
      this.#byPiece.set(piece, this.#own);
    }
    // in the order of the views: from +Z, +X, −Z and +Y
    if (nz > TURNED) this.#own[0]! += area * nz;
    if (nx > TURNED) this.#own[1]! += area * nx;
    if (-nz > TURNED) this.#own[2]! -= area * nz;
    if (ny > TURNED) this.#own[3]! += area * ny;
  }

  /** The allowed piece with the largest visible area, and the index of its view; null if none is visible. */
  findBest(isAllowed: (piece: number) => boolean): { readonly piece: number; readonly view: number } | null {
    let best = 0;
    let found: { piece: number; view: number } | null = null;
    for (const [piece, areas] of this.#byPiece) {
      if (!isAllowed(piece)) continue;
      areas.forEach((area, view) => {
        // of nearly equal areas the first view wins, whatever the rounding
        if (area <= best * (1 + 1e-6)) return;
        best = area;
        found = { piece, view };
      });
    }
    return found;
  }
}

/**
 * Finds where the direction on a material is best shown: the piece with the largest visible area in one of the views, and the
 * steps of U and V there. Null if none of its pieces is visible in any view.
 * @param isAllowed whether the mark may be on a piece
 */
function placeGrainMark(
  parts: readonly UvPart[],
  points: Float32Array,
  shown: ShownAreas,
  isAllowed: (piece: number) => boolean,
): GrainMark | null {
  const best = shown.findBest(isAllowed);
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
