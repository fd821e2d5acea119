import { deltaEab, hexToLab } from '../colour/delta-e-ab.ts';
import type { Piece } from '../product/survey.ts';
import { SAME_COLOUR } from './cluster-colours.ts';
import type { PieceGroup } from './repair.ts';

/**
 * Adds the shapes of each group's pieces, by which those of a changed export are found: only such as no piece outside the
 * groups has, or one leg that was picked would take the other three along.
 * @param pieces all that the groups were picked from, those in no group too
 */
export function addShapes(groups: readonly PieceGroup[], pieces: readonly Piece[]): PieceGroup[] {
  const { listOwn, others } = sortPieces(groups, pieces);
  const shared = new Set(others.map(({ shape }) => shape));
  return groups.map((group) => ({
    ...group,
    shapes:
      group.shapes ?? [...new Set(listOwn(group).map(({ shape }) => shape))].filter((shape) => !shared.has(shape)),
  }));
}

/**
 * Adds the colour of each group's largest piece, by which those are found that neither name nor shape tells: only where no
 * piece outside the groups is of about that colour. Groups that have the names of their parts get none.
 */
export function addColours(groups: readonly PieceGroup[], pieces: readonly Piece[]): PieceGroup[] {
  const { listOwn, others } = sortPieces(groups, pieces);
  const outside = [...new Set(others.flatMap(({ hex }) => hex ?? []))].map(hexToLab);
  return groups.map((group) => {
    if (group.hex !== undefined || group.parts !== undefined) return group;
    const [largest] = listOwn(group).sort((a, b) => b.areaM2 - a.areaM2);
    const hex = largest?.hex;
    if (!hex) return group;
    const lab = hexToLab(hex);
    return outside.some((other) => deltaEab(other, lab) <= SAME_COLOUR) ? group : { ...group, hex };
  });
}

function sortPieces(groups: readonly PieceGroup[], pieces: readonly Piece[]) {
  const byId = new Map(pieces.map((piece) => [piece.piece, piece]));
  const listOwn = (group: PieceGroup) => group.pieces.flatMap((id) => byId.get(id) ?? []);
  const listed = new Set(groups.flatMap((group) => group.pieces));
  const materials = new Set(groups.flatMap(listOwn).map(({ material }) => material));
  const others = pieces.filter(({ piece, material }) => materials.has(material) && !listed.has(piece));
  return { listOwn, others };
}
