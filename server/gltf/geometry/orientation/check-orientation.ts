import type { InwardPiece } from '../../../core/product/survey.ts';
import type { LoadedModel } from '../../document/read-accessor.ts';
import { isMirror, type SceneNode } from '../../document/world-matrices.ts';
import type { FoundPieces } from '../pieces/find-pieces.ts';
import type { PlacedScene } from '../place-scene.ts';
import { compareNormals } from './compare-normals.ts';
import { countVisibleSides } from './count-visible-sides.ts';
import { measureVolumes } from './measure-volumes.ts';

/** A piece of a smaller share of the surface is not checked: it is too small to see. */
const LEAST_SHARE = 1e-4;
/** Volume over area^1.5; a ball has 0.094, a sheet of paper of 0.1 mm 0.00004. Less is within the noise of a flat piece. */
const CLEAR_VOLUME = 1e-5;
/** The same for the cone over a shell with a rim that plainly bulges one way, as a shade or a bowl does: 0.13 for a tube. */
const CLEAR_BULGE = 0.06;
/** Share of triangles by area; the rest are slivers, whose normals follow their neighbours. */
const AGAINST = 0.9;
/** Places of a view that must show a piece before they say anything of it. */
const LEAST_SEEN = 20;
/**
 * Shares of what is seen of a piece that show its back. A sheet in the open has 0.5, a bowl the right way round about 0.35;
 * a closed piece has 0 or 1 but for the grid.
 */
const BACK = { closed: 0.8, open: 0.97, doubtful: 0.9, bulging: 0.55, even: 0.5 } as const;

/** How a piece is turned wrongly, and whether that is certain. */
export interface OrientationFault {
  readonly turn: InwardPiece['turn'];
  readonly by: InwardPiece['by'];
  /** False where it could be intended. */
  readonly certain: boolean;
}

export interface OrientationCheck {
  /** By piece; null where it is right, or too small to be seen. */
  readonly faults: readonly (OrientationFault | null)[];
  /** What turning a piece outward takes that a person names, however little speaks for it; null where it faces outward. */
  findTurn(piece: number): InwardPiece['turn'] | null;
}

/**
 * Checks the orientation of pieces: a viewer hides a piece that faces inward, or lights it from the wrong side.
 *
 * 1. Front is where corners run counter-clockwise, and the other side under a mirror (glTF 2.0 §3.7.4).
 * 2. A closed piece faces by the sign of its volume. A negative one must be seen as well: the inner wall of a hollow body is
 *    closed, negative, and right.
 * 3. A piece with a rim faces inward where nearly all that is seen of it from all round is its back. A sheet that is seen from both
 *    sides is never judged; a shell that plainly bulges inward and shows its back more often than not is doubtful.
 * 4. Normals that look out of the back are wrong whichever side is seen, since light is reckoned with the front's normal,
 *    turned round for a back of a double-sided material (§3.9.6).
 * 5. Fronts and normals that both face inward are not seen on a double-sided material, and are let be.
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
  // views take longest, and only some pieces turn on them
  const asks = (piece: number) =>
    isSeen[piece]! && !(isClosed(piece) && shape(piece) > 0) && !(isDouble(piece) && !isAgainst(piece));
  const look = () => countVisibleSides(scene, parts, facing, total, extentOf(pieces), pieces.length);
  let views = pieces.some((_, piece) => asks(piece)) ? look() : null;
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
      const front = asks(piece) ? judgeFront(piece) : null;
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
