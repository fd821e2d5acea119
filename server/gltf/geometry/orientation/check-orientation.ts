import type { InwardPiece } from '../../../core/product/survey.ts';
import { type LoadedModel, readAccessor } from '../../document/read-accessor.ts';
import { isMirror, type SceneNode } from '../../document/world-matrices.ts';
import type { FoundPieces, PieceParts } from '../pieces/find-pieces.ts';
import type { PlacedScene } from '../place-scene.ts';
import { countVisibleSides } from './count-visible-sides.ts';

/** A piece of a smaller share of the surface is not checked: it is too small to see. */
const LEAST_SHARE = 1e-4;
/** Volume over area^1.5. A ball has 0.094, a sheet of paper of 0.1 mm 0.00004. Less is noise of a flat piece. */
const CLEAR_VOLUME = 1e-5;
/** The same for the cone over an open shell that clearly bulges to one side, such as a shade or a bowl. A tube has 0.13. */
const CLEAR_BULGE = 0.06;
/** Share of triangles by area. The rest are slivers, whose normals follow their neighbours. */
const AGAINST = 0.9;
/** Fewest grid cells of all views in which a piece must be visible to be judged. */
const LEAST_SEEN = 20;
/**
 * Share of a piece's visible cells that show its back. A free sheet has 0.5, a correct bowl about 0.35. A closed piece has 0
 * or 1, apart from errors of the grid.
 */
const BACK = { closed: 0.8, open: 0.97, doubtful: 0.9, bulging: 0.55, even: 0.5 } as const;

/** How a piece is turned wrongly, and whether that is certain. */
interface OrientationFault {
  readonly turn: InwardPiece['turn'];
  readonly by: InwardPiece['by'];
  /** False where it could be intended. */
  readonly certain: boolean;
}

export interface OrientationCheck {
  /** By piece; null if its orientation is right, or if it is too small to be seen. */
  readonly faults: readonly (OrientationFault | null)[];
  /** The turn for a piece that a person names, also if it is only slightly likely; null if the piece faces outward. */
  findTurn(piece: number): InwardPiece['turn'] | null;
}

/**
 * Checks the orientation of pieces: a viewer hides a piece that faces inward, or lights it from the wrong side.
 *
 * 1. The front is the side on which corners run counter-clockwise, or the other side under a mirror (glTF 2.0 §3.7.4).
 * 2. The sign of its volume decides for a closed piece. One with a negative volume must also be visible: the inner wall of a
 *    hollow body is closed, negative, and right.
 * 3. An open piece faces inward if views from all sides show almost only its back. A sheet that is visible from both sides
 *    is never reported. A shell that clearly bulges inward and mostly shows its back is doubtful.
 * 4. Normals that point out of the back are always wrong, since light is calculated with the normal of the front, reversed
 *    for a back of a double-sided material (§3.9.6).
 * 5. Fronts and normals that both face inward are invisible on a double-sided material, and are ignored.
 */
export function checkOrientation(
  model: LoadedModel,
  nodes: readonly SceneNode[],
  scene: PlacedScene,
  found: FoundPieces,
): OrientationCheck {
  const { json } = model;
  const { pieces, parts } = found;
  const mirrored = new Set(nodes.filter(({ matrix }) => isMirror(matrix)).map(({ node }) => node));
  const facing = scene.parts.map(({ node }) => (mirrored.has(node) ? -1 : 1));
  const { closed, volume } = measureVolumes(scene, found, facing);
  const { along, against } = compareNormals(model, scene, parts, pieces.length);
  const total = [...found.covers.values()].reduce((sum, { areaM2 }) => sum + areaM2, 0);
  const shape = (piece: number) => volume[piece]! / pieces[piece]!.areaM2 ** 1.5;
  const isDouble = (piece: number) => json.materials?.[pieces[piece]!.material ?? -1]?.doubleSided === true;
  const isAgainst = (piece: number) => against[piece]! > AGAINST * (along[piece]! + against[piece]!);
  const isClosed = (piece: number) => closed[piece] === 1 && Math.abs(shape(piece)) > CLEAR_VOLUME;
  const isSeen = pieces.map(({ areaM2 }) => areaM2 > LEAST_SHARE * total);
  // views take longest, and only some pieces need them
  const needsView = (piece: number) =>
    isSeen[piece]! && !(isClosed(piece) && shape(piece) > 0) && !(isDouble(piece) && !isAgainst(piece));
  const look = () => countVisibleSides(scene, parts, facing, total, extentOf(pieces), pieces.length);
  let views = pieces.some((_, piece) => needsView(piece)) ? look() : null;
  const backOf = (piece: number) => {
    views ??= look();
    return views.seen[piece]! < LEAST_SEEN ? null : views.back[piece]! / views.seen[piece]!;
  };

  const judgeFront = (piece: number): { readonly certain: boolean; readonly by: 'volume' | 'view' } | null => {
    const back = backOf(piece);
    if (back === null) return null;
    if (isClosed(piece)) return shape(piece) < 0 && back >= BACK.closed ? { certain: true, by: 'volume' } : null;
    if (back >= BACK.doubtful) return { certain: back >= BACK.open, by: 'view' };
    return back >= BACK.bulging && shape(piece) < -CLEAR_BULGE ? { certain: false, by: 'view' } : null;
  };
  const judge = (piece: number): OrientationFault | null => {
    if (!isSeen[piece]) return null;
    if (!isAgainst(piece)) {
      const front = needsView(piece) ? judgeFront(piece) : null;
      return front && { turn: 'both', ...front };
    }
    return { turn: leansInward(piece) ? 'winding' : 'normals', certain: true, by: 'normals' };
  };
  const leansInward = (piece: number): boolean => {
    if (isClosed(piece)) return shape(piece) < 0;
    const back = backOf(piece);
    return back === null ? shape(piece) < -CLEAR_BULGE : back > BACK.even;
  };
  return {
    faults: pieces.map((_, piece) => judge(piece)),
    findTurn: (piece) => {
      const inward = leansInward(piece);
      if (isAgainst(piece)) return inward ? 'winding' : 'normals';
      return inward ? 'both' : null;
    },
  };
}

function extentOf(pieces: FoundPieces['pieces']): number {
  let extent = 0;
  for (let axis = 0; axis < 3; axis++) {
    let [low, high] = [Infinity, -Infinity];
    for (const { box } of pieces) {
      if (box.min[axis]! < low) low = box.min[axis]!;
      if (box.max[axis]! > high) high = box.max[axis]!;
    }
    if (high - low > extent) extent = high - low;
  }
  return extent;
}

/** Most pieces in a survey. The repair checks again and counts all. */
const LISTED = 1000;

/** The pieces that face inward, as a survey lists them: the certain ones first, then the largest. */
export function listInwardPieces({ pieces }: FoundPieces, { faults }: OrientationCheck): InwardPiece[] {
  return pieces
    .flatMap(({ piece, shape, material, nodes, areaM2 }, index): InwardPiece[] => {
      const fault = faults[index];
      return fault ? [{ piece, shape, material, nodes, areaM2, ...fault }] : [];
    })
    .sort((a, b) => Number(b.certain) - Number(a.certain) || b.areaM2 - a.areaM2 || (a.piece < b.piece ? -1 : 1))
    .slice(0, LISTED);
}

/** How stored normals agree with the order of corners, in m² by piece; both 0 for a piece without normals. */
interface NormalAgreement {
  /** Triangles whose normals point out of their front. */
  readonly along: Float64Array;
  /** Triangles whose normals point out of their back: they are lit from the wrong side. */
  readonly against: Float64Array;
}

/** In a part with many triangles, every fourth is enough and takes a third of the time. */
const MANY = { triangles: 20_000, step: 4 } as const;

/** Compares normals with the order of corners, in the space of the mesh: a node's transform changes both equally. */
function compareNormals(
  model: LoadedModel,
  { parts: placed }: PlacedScene,
  parts: readonly PieceParts[],
  count: number,
): NormalAgreement {
  const along = new Float64Array(count);
  const against = new Float64Array(count);
  placed.forEach(({ mesh, primitive, triangles, vertices }, index) => {
    const { POSITION, NORMAL } = model.json.meshes![mesh]!.primitives[primitive]!.attributes;
    const points = readAccessor(model, POSITION!)!;
    const normals = NORMAL === undefined ? null : readAccessor(model, NORMAL);
    if (normals?.length !== vertices * 3) return;
    const { pieceOfTriangle } = parts[index]!;
    const step = pieceOfTriangle.length > MANY.triangles ? MANY.step : 1;
    for (let t = 0, at = 0; t < pieceOfTriangle.length; t += step, at += step * 3) {
      const piece = pieceOfTriangle[t]!;
      if (piece < 0) continue;
      const a = triangles[at]! * 3;
      const b = triangles[at + 1]! * 3;
      const c = triangles[at + 2]! * 3;
      const ux = points[b]! - points[a]!;
      const uy = points[b + 1]! - points[a + 1]!;
      const uz = points[b + 2]! - points[a + 2]!;
      const vx = points[c]! - points[a]!;
      const vy = points[c + 1]! - points[a + 1]!;
      const vz = points[c + 2]! - points[a + 2]!;
      const nx = uy * vz - uz * vy;
      const ny = uz * vx - ux * vz;
      const nz = ux * vy - uy * vx;
      const side =
        nx * (normals[a]! + normals[b]! + normals[c]!) +
        ny * (normals[a + 1]! + normals[b + 1]! + normals[c + 1]!) +
        nz * (normals[a + 2]! + normals[b + 2]! + normals[c + 2]!);
      if (side === 0 || side - side !== 0) continue;
      (side > 0 ? along : against)[piece]! += Math.sqrt(nx * nx + ny * ny + nz * nz) / 2;
    }
  });
  return { along, against };
}

/** The volume of each piece and whether it is closed, as columns. */
export interface Volumes {
  /**
   * Whether every edge is used equally often in both directions. Then the surface has no rim, its corners have one
   * direction, and the volume does not depend on the reference point.
   */
  readonly closed: Uint8Array;
  /**
   * Signed volume relative to the centre of each piece: the sum over triangles of a · (b × c) / 6, by the divergence theorem
   * (C. Zhang and T. Chen, Efficient feature extraction for 2D/3D objects in mesh representation, ICIP 2001). Negative
   * if fronts face inward. For an open piece, the volume of the cone over it.
   */
  readonly volume: Float64Array;
}

/**
 * Measures whether pieces are closed, and the volume they enclose.
 *
 * Edges are not collected. Each adds a number that is derived from its two points, positive in one direction and negative in
 * the other. A sum of 0 means a closed piece, except by a chance of one in thousands of millions.
 * @param facing by part: -1 under a mirror, which swaps the sides (glTF 2.0 §3.7.4)
 */
export function measureVolumes(
  { parts: placed, points, origin }: PlacedScene,
  { parts, pieces, welds }: Pick<FoundPieces, 'parts' | 'pieces' | 'welds'>,
  facing: readonly number[],
): Volumes {
  const count = pieces.length;
  const centre = new Float64Array(count * 3);
  pieces.forEach(({ box }, piece) => {
    for (let axis = 0; axis < 3; axis++) {
      centre[piece * 3 + axis] = (box.min[axis]! + box.max[axis]!) / 2 - origin[axis]!;
    }
  });
  const volume = new Float64Array(count);
  const rim = new Float64Array(count);
  placed.forEach(({ triangles, first }, index) => {
    const { pieceOfTriangle } = parts[index]!;
    const sign = facing[index]!;
    for (let t = 0, at = 0; t < pieceOfTriangle.length; t++, at += 3) {
      const piece = pieceOfTriangle[t]!;
      if (piece < 0) continue;
      const a = first + triangles[at]!;
      const b = first + triangles[at + 1]!;
      const c = first + triangles[at + 2]!;
      const from = piece * 3;
      const ox = centre[from]!;
      const oy = centre[from + 1]!;
      const oz = centre[from + 2]!;
      const ax = points[a * 3]! - ox;
      const ay = points[a * 3 + 1]! - oy;
      const az = points[a * 3 + 2]! - oz;
      const ux = points[b * 3]! - ox - ax;
      const uy = points[b * 3 + 1]! - oy - ay;
      const uz = points[b * 3 + 2]! - oz - az;
      const vx = points[c * 3]! - ox - ax;
      const vy = points[c * 3 + 1]! - oy - ay;
      const vz = points[c * 3 + 2]! - oz - az;
      const nx = uy * vz - uz * vy;
      const ny = uz * vx - ux * vz;
      const nz = ux * vy - uy * vx;
      volume[piece]! += (sign * (ax * nx + ay * ny + az * nz)) / 6;
      const wa = welds[a]!;
      const wb = welds[b]!;
      const wc = welds[c]!;
      rim[piece]! += sign * (edge(wa, wb) + edge(wb, wc) + edge(wc, wa));
    }
  });
  return { closed: Uint8Array.from(rim, (sum) => (sum === 0 ? 1 : 0)), volume };
}

/** A whole number below 2^31 for an edge, with the sign of its direction. Sums of 2^22 such numbers are exact. */
function edge(a: number, b: number): number {
  if (a === b) return 0;
  return a < b ? mix(a, b) : -mix(b, a);
}

function mix(low: number, high: number): number {
  let h = Math.imul(low, 0x9e3779b1) ^ Math.imul(high, 0x85ebca77);
  h = Math.imul(h ^ (h >>> 15), 0x2c1b3c6d);
  return (h ^ (h >>> 13)) & 0x7fffffff;
}
