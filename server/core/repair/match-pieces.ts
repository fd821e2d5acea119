import { deltaEab, hexToLab } from '../colour/delta-e-ab.ts';
import type { Lab } from '../colour/lab.ts';
import type { Piece } from '../product/survey.ts';
import { SAME_COLOUR } from './cluster-colours.ts';
import { kindOf } from './part-names.ts';
import type { PieceGroup } from './repair.ts';

export interface MatchedPieces {
  /** For every piece the index of its group; -1 for those that stay. */
  readonly groups: Int32Array;
  /** How many pieces found their group by what, and how many stay. */
  readonly byId: number;
  readonly byPart: number;
  readonly byShape: number;
  readonly byColour: number;
  readonly left: number;
}

type Matchable = Pick<Piece, 'piece' | 'part' | 'shape' | 'hex'>;

/**
 * Finds the group of every piece: by its id; a piece no id claims by the kind of part its name tells, then by its shape, where one
 * group alone lists it; else by its colour, the nearest within ΔE*ab 12. A piece listed by two groups belongs to the first.
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

/** Which group lists it, unless several do. */
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
