import { deltaEab, hexToLab, type Lab } from '../colour/lab.ts';
import type { Piece } from '../product/survey.ts';
import { SAME_COLOUR } from './cluster-pieces.ts';
import { kindOf } from './part-names.ts';
import type { PieceGroup } from './repair.ts';

export interface MatchedPieces {
  /** For every piece the index of its group; -1 for pieces that stay. */
  readonly groups: Int32Array;
  /** Number of pieces that each method matched, and number of pieces that stay. */
  readonly byId: number;
  readonly byPart: number;
  readonly byShape: number;
  readonly byColour: number;
  readonly left: number;
}

type Matchable = Pick<Piece, 'piece' | 'part' | 'shape' | 'hex'>;

/**
 * Finds the group of every piece by its id. Without one, it uses the kind of part in its name, then its shape, where
 * only one group lists it; else its colour, the nearest within ΔE*ab 12. A piece listed by two groups belongs to the
 * first.
 */
export function matchPieces(pieces: readonly Matchable[], groups: readonly PieceGroup[]): MatchedPieces {
  const ids = new Map<string, number>();
  const parts = new Map<string, number>();
  const shapes = new Map<string, number>();
  const colours: { readonly group: number; readonly lab: Lab }[] = [];
  groups.forEach((group, index) => {
    for (const id of group.pieces) if (!ids.has(id)) ids.set(id, index);
    for (const part of group.parts ?? []) note(parts, kindOf(part), index);
    for (const shape of group.shapes ?? []) note(shapes, shape, index);
    if (group.hex !== undefined) colours.push({ group: index, lab: hexToLab(group.hex) });
  });
  const found = { byId: 0, byPart: 0, byShape: 0, byColour: 0, left: 0 };
  const matched = pieces.map(({ piece, part, shape, hex }) => {
    const id = ids.get(piece);
    if (id !== undefined) {
      found.byId++;
      return id;
    }
    const named = part === null ? undefined : parts.get(kindOf(part));
    if (named !== undefined && named !== SEVERAL) {
      found.byPart++;
      return named;
    }
    const congruent = shapes.get(shape);
    if (congruent !== undefined && congruent !== SEVERAL) {
      found.byShape++;
      return congruent;
    }
    const colour = hex === null ? null : findNearest(hexToLab(hex), colours);
    if (colour !== null) {
      found.byColour++;
      return colour;
    }
    found.left++;
    return -1;
  });
  return { groups: Int32Array.from(matched), ...found };
}

const SEVERAL = -2;

/** Records the group that lists the key, or that several do. */
function note(groups: Map<string, number>, key: string, group: number): void {
  const other = groups.get(key);
  groups.set(key, other === undefined || other === group ? group : SEVERAL);
}

function findNearest(lab: Lab, colours: readonly { readonly group: number; readonly lab: Lab }[]): number | null {
  let nearest: number | null = null;
  let least = SAME_COLOUR;
  for (const colour of colours) {
    const far = deltaEab(lab, colour.lab);
    if (far > least || (far === least && nearest !== null)) continue;
    least = far;
    nearest = colour.group;
  }
  return nearest;
}

/**
 * Adds the shapes of each group's pieces, which find the pieces of a changed export. It adds only shapes that no piece
 * outside the groups has: otherwise one picked leg would take the other three along.
 * @param pieces all pieces that the groups were picked from, including those in no group
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
 * Adds the colour of each group's largest piece, which finds pieces that neither name nor shape identifies. It adds it
 * only where no piece outside the groups has a similar colour. Groups with the names of their parts get none.
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
