import type { GrainFacts, GrainTurn } from '../../../core/product/survey.ts';
import type { PieceParts } from '../../geometry/pieces/find-pieces.ts';
import type { PlacedScene } from '../../geometry/place-scene.ts';
import type { PieceMeasures } from '../pieces/measure-pieces.ts';
import { placeGrainMark, ShownAreas } from './place-grain-mark.ts';
import { type UvPart, type UvTriangle, visitUvTriangles } from './visit-uv-triangles.ts';

/** A piece less elongated than this has no longer direction: a seat of 400 × 440 mm has its grain where it is put. Judgement. */
const ELONGATED = 1.2;
/** Pieces with a longer direction lead where they are at least so much of the surface. Judgement. */
const LEADS = 0.2;
/** Surfaces within 45° of level lie, the others stand. */
const LEVEL = Math.SQRT1_2;

/**
 * How the direction of finishes comes to lie on the parts of each material. The grain of a finish runs along V of the UVs
 * as a slot of 0° lays it; the turn that puts it elsewhere is asked of every triangle, by the gradients of its UVs, and
 * averaged by area over the doubled angle, since a grain has no head (Mardia & Jupp, Directional Statistics, §9.1; from
 * memory).
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

/** Sums of one wish for a direction: of the doubled angle, and of the area that has it. */
class Votes {
  cos = 0;
  sin = 0;
  area = 0;
  /** Each triangle's area times how far its plane holds the direction wished for. */
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
    // a longer direction that stands across a face says nothing of it
    if (axis!.elongation >= ELONGATED) {
      const [x, y, z] = axis!.axis;
      const across = nx * x + ny * y + nz * z;
      const held = 1 - across * across;
      elongation += area * Math.log(axis!.elongation);
      if (held > 1e-6) vote(along, triangle, x, y, z, Math.sqrt(held));
    }
    // cloth comes from the front over what lies and down what stands; sides hang too
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
    // where pieces with a length lead, the direction is shown on one of them
    mark: placeGrainMark(parts, points, shown, turn && turn.share >= LEADS ? isLong : () => true),
  };
}

/**
 * One triangle's wish to have the grain along a direction. A step of the direction, laid onto the triangle, goes so far in
 * u and in v as the gradients of both have it; the turn that brings V there is the angle of that step from V.
 */
function vote(votes: Votes, t: UvTriangle, x: number, y: number, z: number, held: number): void {
  const { e1, e2, nx, ny, nz } = t;
  // e2 × n and n × e1, which are the gradients of a step along e1 and e2 but for their length
  const c1 = (e2[1] * nz - e2[2] * ny) * x + (e2[2] * nx - e2[0] * nz) * y + (e2[0] * ny - e2[1] * nx) * z;
  const c2 = (ny * e1[2] - nz * e1[1]) * x + (nz * e1[0] - nx * e1[2]) * y + (nx * e1[1] - ny * e1[0]) * z;
  votes.add(t.u1 * c1 + t.u2 * c2, t.v1 * c1 + t.v2 * c2, t.area, t.area * held);
}
